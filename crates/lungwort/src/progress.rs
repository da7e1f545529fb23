//! How far a long search is, for a person who waits.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Time after which a person would like to know.
const PATIENCE: Duration = Duration::from_millis(300);

/// A bar on standard error, drawn only on a terminal and only if the work takes its time.
pub struct Progress {
    bar: ProgressBar,
    begun: Instant,
}

impl Progress {
    /// Begins to count. The cursor is never hidden, so that nothing has to be put right when the
    /// work is broken off.
    pub fn new(ascii: bool) -> Self {
        // Ten pictures a second are enough; the bar itself looks whether there is a terminal.
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(10));
        let characters = if ascii { "=> " } else { "━╸ " };
        if let Ok(style) = ProgressStyle::with_template("{pos} of {len} plans {bar:50} {eta} left")
        {
            bar.set_style(style.progress_chars(characters));
        }
        Self {
            bar,
            begun: Instant::now(),
        }
    }

    /// So much is done of the whole.
    pub fn show(&self, done: usize, total: usize) {
        if self.begun.elapsed() >= PATIENCE {
            self.bar.set_length(total as u64);
            self.bar.set_position(done as u64);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
