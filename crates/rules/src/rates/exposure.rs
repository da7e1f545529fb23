//! Ventilation that does not run all the time, or not always alike.
//!
//! [`relative_exposure`] follows the concentration of a source that is always on, over the one that
//! a steady flow at the required rate would leave (ASHRAE 62.2, normative appendix C, from memory).
//! With the flow Q, the required total Q_tot and the volume V, `dR/dt = (Q_tot − Q R)/V`, so within
//! a step of constant flow
//!
//! `R(t) = Q_tot/Q + (R_0 − Q_tot/Q) · exp(−Q t/V)`, and `R(t) = R_0 + Q_tot t/V` where Q = 0.
//!
//! A schedule passes if the mean of R is at most 1 and no step ends above 5. The mean can be taken
//! exactly over time or of the values at the ends of the hours only; the two differ, and both are
//! given ([`Exposure`]). The older rules of a run time ([`effectiveness_2007`], [`run_time_factor`])
//! and the mean over three hours ([`Schedule::least_share`]) stand beside it.

use std::fmt;

/// Largest mean relative exposure.
pub const LARGEST_MEAN: f64 = 1.0;
/// Largest relative exposure at the end of a step.
pub const LARGEST_PEAK: f64 = 5.0;
const DAY: f64 = 86_400.0;
const HOUR: f64 = 3600.0;

/// A step of constant flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// How long it lasts (s).
    pub duration: f64,
    /// All outdoor air: the fan combined with infiltration (m³/s).
    pub outdoor_air: f64,
}

/// Relative exposure at the end of a step, and its exact mean over the step.
///
/// ```
/// use rules::rates::exposure::{Flow, relative_exposure};
/// // 16 000 ft³, 90 cfm wanted: an hour without air, then an hour at 180 cfm.
/// let cfm = 0.0004719474432;
/// let (needed, volume) = (90.0 * cfm, 16_000.0 * 60.0 * cfm);
/// let still = Flow { duration: 3600.0, outdoor_air: 0.0 };
/// let [end, mean] = relative_exposure(1.0, still, needed, volume);
/// assert!((end - 1.3375).abs() < 1e-9 && (mean - 1.16875).abs() < 1e-9);
/// let strong = Flow { duration: 3600.0, outdoor_air: 180.0 * cfm };
/// let [end, _] = relative_exposure(end, strong, needed, volume);
/// assert!((end - 0.92642).abs() < 5e-6);
/// ```
pub fn relative_exposure(start: f64, flow: Flow, needed: f64, volume: f64) -> [f64; 2] {
    let rise = needed * flow.duration / volume;
    let changes = flow.outdoor_air * flow.duration / volume;
    // (1 − e^{−x})/x and (1 − that)/x, by their series where x is small.
    let (first, second) = if changes < 1e-4 {
        (
            1.0 - changes / 2.0 + changes * changes / 6.0,
            0.5 - changes / 6.0 + changes * changes / 24.0,
        )
    } else {
        let first = -(-changes).exp_m1() / changes;
        (first, (1.0 - first) / changes)
    };
    [
        start * (-changes).exp() + rise * first,
        start * first + rise * second,
    ]
}

/// When a system runs during a day that repeats itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// Steps of at most an hour that fill the day: duration (s), and whether the system runs.
    steps: Vec<(f64, bool)>,
}

/// A schedule that cannot be.
#[derive(Debug, Clone, PartialEq)]
pub struct NoSchedule(String);

impl fmt::Display for NoSchedule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NoSchedule {}

impl Schedule {
    /// Runs all day.
    pub fn always() -> Self {
        Self {
            steps: vec![(HOUR, true); 24],
        }
    }

    /// Runs in these spans of the day, from and to in seconds since midnight; a span whose end is
    /// not after its start goes over midnight.
    ///
    /// # Errors
    ///
    /// [`NoSchedule`] without any span, or for a time outside the day.
    pub fn spans(spans: &[[f64; 2]]) -> Result<Self, NoSchedule> {
        if spans.is_empty() {
            return Err(NoSchedule("the schedule names no time of running".into()));
        }
        for &time in spans.iter().flatten() {
            if !(0.0..=DAY).contains(&time) {
                return Err(NoSchedule(format!(
                    "{time} s is no time of a day: 0 to 86400 s"
                )));
            }
        }
        let runs = |at: f64| {
            spans.iter().any(|&[from, to]| {
                if from < to {
                    (from..to).contains(&at)
                } else {
                    at >= from || at < to
                }
            })
        };
        let mut edges: Vec<f64> = (0..=24).map(|hour| f64::from(hour) * HOUR).collect();
        edges.extend(spans.iter().flatten());
        edges.sort_by(f64::total_cmp);
        edges.dedup_by(|one, other| (*one - *other).abs() < 1e-6);
        Ok(Self {
            steps: edges
                .windows(2)
                .map(|edge| (edge[1] - edge[0], runs(0.5 * (edge[0] + edge[1]))))
                .collect(),
        })
    }

    /// Runs for the same share of every hour, from its beginning.
    ///
    /// # Errors
    ///
    /// [`NoSchedule`] for a share that is not above 0 and at most 1.
    pub fn share_of_each_hour(share: f64) -> Result<Self, NoSchedule> {
        if !(share > 0.0 && share <= 1.0) {
            return Err(NoSchedule(format!(
                "{share} is no share of an hour: above 0, at most 1"
            )));
        }
        let mut steps = Vec::with_capacity(48);
        for _ in 0..24 {
            steps.push((share * HOUR, true));
            if share < 1.0 {
                steps.push(((1.0 - share) * HOUR, false));
            }
        }
        Ok(Self { steps })
    }

    /// Steps of at most an hour that fill the day: duration (s), and whether the system runs.
    pub fn steps(&self) -> &[(f64, bool)] {
        &self.steps
    }

    /// Share of the day in which it runs, 0 to 1.
    pub fn share(&self) -> f64 {
        let running = self.steps.iter().filter(|(_, runs)| *runs);
        running.map(|(duration, _)| duration).sum::<f64>() / DAY
    }

    /// Smallest share of running in any window of this length (s) of the repeated day.
    pub fn least_share(&self, window: f64) -> f64 {
        // The running time in a window changes its slope only where an edge enters or leaves it,
        // so the smallest lies where the window begins or ends at an edge.
        let mut edges = vec![0.0];
        for (duration, _) in &self.steps {
            edges.push(edges.last().copied().unwrap_or(0.0) + duration);
        }
        let running_until = |time: f64| {
            let days = (time / DAY).floor();
            let within = time - days * DAY;
            let mut sum = days * self.share() * DAY;
            for (edge, (duration, runs)) in edges.iter().zip(&self.steps) {
                if *runs {
                    sum += (within - edge).clamp(0.0, *duration);
                }
            }
            sum
        };
        edges
            .iter()
            .flat_map(|edge| [*edge, (edge - window).rem_euclid(DAY)])
            .map(|from| (running_until(from + window) - running_until(from)) / window)
            .fold(f64::INFINITY, f64::min)
            .clamp(0.0, 1.0)
    }

    /// Longest time without running (s).
    pub fn longest_pause(&self) -> f64 {
        let mut longest = 0.0_f64;
        let mut pause = 0.0;
        for (duration, runs) in self.steps.iter().chain(&self.steps) {
            pause = if *runs { 0.0 } else { pause + duration };
            longest = longest.max(pause);
        }
        longest.min(DAY)
    }
}

/// Relative exposure through a day that repeats itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    /// Mean, exact over time.
    pub mean: f64,
    /// Mean of the values at the ends of the steps, each weighted with its step: what a table with
    /// one line an hour shows.
    pub mean_of_ends: f64,
    /// Largest at the end of a step.
    pub peak: f64,
    /// Smallest at the end of a step.
    pub lowest: f64,
}

impl Exposure {
    /// Whether the schedule passes with the exact mean.
    pub fn passes(&self) -> bool {
        self.mean <= LARGEST_MEAN + 1e-9 && self.peak <= LARGEST_PEAK + 1e-9
    }

    /// The same with the mean of the values at the ends.
    pub fn passes_by_ends(&self) -> bool {
        self.mean_of_ends <= LARGEST_MEAN + 1e-9 && self.peak <= LARGEST_PEAK + 1e-9
    }
}

/// Relative exposure of a schedule: `running` and `still` are all outdoor air (m³/s) while the
/// system runs and while it stands, `needed` the required total. The day repeats itself, so that the
/// start at 1 is forgotten; over a year that changes nothing that counts. `None` if no outdoor air
/// ever comes.
///
/// ```
/// use rules::rates::exposure::{Schedule, exposure};
/// let cfm = 0.0004719474432;
/// let half = Schedule::spans(&[[0.0, 43_200.0]]).unwrap();
/// let day = exposure(&half, 440.96 * cfm, 20.0 * cfm, 90.0 * cfm, 960_000.0 * cfm).unwrap();
/// assert!((day.mean - 1.0).abs() < 1e-4);
/// assert!((day.peak - 2.753).abs() < 1e-3 && (day.lowest - 0.204).abs() < 1e-3);
/// ```
pub fn exposure(
    schedule: &Schedule,
    running: f64,
    still: f64,
    needed: f64,
    volume: f64,
) -> Option<Exposure> {
    let flows = || {
        schedule.steps.iter().map(|&(duration, runs)| Flow {
            duration,
            outdoor_air: if runs { running } else { still },
        })
    };
    // The end of the day is a straight function of its start.
    let end_from = |start: f64| {
        flows().fold(start, |start, flow| {
            relative_exposure(start, flow, needed, volume)[0]
        })
    };
    let at_zero = end_from(0.0);
    let kept = end_from(1.0) - at_zero;
    if !(at_zero.is_finite() && kept < 1.0 - 1e-12) {
        return None;
    }
    let mut start = at_zero / (1.0 - kept);
    let mut day = Exposure {
        mean: 0.0,
        mean_of_ends: 0.0,
        peak: f64::NEG_INFINITY,
        lowest: f64::INFINITY,
    };
    for flow in flows() {
        let [end, mean] = relative_exposure(start, flow, needed, volume);
        day.mean += mean * flow.duration / DAY;
        day.mean_of_ends += end * flow.duration / DAY;
        day.peak = day.peak.max(end);
        day.lowest = day.lowest.min(end);
        start = end;
    }
    Some(day)
}

/// How the mean of a relative exposure is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Averaging {
    /// Exactly over time.
    Exact,
    /// Of the values at the ends of the steps.
    Ends,
}

/// Outdoor air (m³/s) that has to come while the system runs, so that a schedule passes: by
/// bisection, since mean and peak fall with the flow. `None` if no flow is enough, because the
/// pauses alone are too much.
///
/// ```
/// use rules::rates::exposure::{Averaging, Schedule, needed_running};
/// let cfm = 0.0004719474432;
/// let half = Schedule::spans(&[[0.0, 43_200.0]]).unwrap();
/// let needed = |averaging| {
///     needed_running(&half, 20.0 * cfm, 90.0 * cfm, 960_000.0 * cfm, averaging).unwrap() / cfm
/// };
/// assert!((needed(Averaging::Exact) - 440.96).abs() < 0.01);
/// assert!((needed(Averaging::Ends) - 469.93).abs() < 0.01);
/// ```
pub fn needed_running(
    schedule: &Schedule,
    still: f64,
    needed: f64,
    volume: f64,
    averaging: Averaging,
) -> Option<f64> {
    let passes = |running: f64| {
        exposure(schedule, running, still, needed, volume).is_some_and(|day| match averaging {
            Averaging::Exact => day.passes(),
            Averaging::Ends => day.passes_by_ends(),
        })
    };
    if !(needed > 0.0 && volume > 0.0) {
        return None;
    }
    // Ten air changes a minute: beyond, only the pauses count.
    let most = volume / 6.0;
    if !passes(most) {
        return None;
    }
    let (mut low, mut high) = (0.0, needed);
    while !passes(high) {
        low = high;
        high = (2.0 * high).min(most);
    }
    if passes(low) {
        return Some(low);
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if passes(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// Effectiveness of a share of running of ASHRAE 62.2-2007 (from memory): below 0.35 one third, to
/// 0.60 one half, to 0.80 three quarters, beyond it one; one if it runs at least once in three
/// hours. The flow while running is the required one over effectiveness and share. A share on an
/// edge takes the smaller effectiveness.
pub fn effectiveness_2007(schedule: &Schedule) -> f64 {
    let share = schedule.share();
    if schedule.longest_pause() < 3.0 * HOUR || share > 0.8 {
        1.0
    } else if share < 0.35 {
        0.33
    } else if share <= 0.6 {
        0.5
    } else {
        0.75
    }
}

/// Run-time factor of IRC table M1505.4.3(2) for the share of running in each segment of four
/// hours, interpolated between its columns and never beyond them: `None` below 25 %.
///
/// ```
/// use rules::rates::exposure::run_time_factor;
/// assert_eq!(run_time_factor(0.5), Some(2.0));
/// assert!((run_time_factor(0.58).unwrap() - 1.75).abs() < 1e-12); // half-way from 50 to 66 %
/// assert_eq!(run_time_factor(0.24), None);
/// ```
pub fn run_time_factor(share: f64) -> Option<f64> {
    const TABLE: [(f64, f64); 6] = [
        (0.25, 4.0),
        (0.33, 3.0),
        (0.50, 2.0),
        (0.66, 1.5),
        (0.75, 1.3),
        (1.00, 1.0),
    ];
    // Down to rounding: an hour in four is 25 %.
    let share = if (share - 0.25).abs() < 1e-9 {
        0.25
    } else {
        share.min(1.0)
    };
    TABLE.windows(2).find_map(|pair| {
        let [(from, above), (to, below)] = [pair[0], pair[1]];
        (from..=to)
            .contains(&share)
            .then(|| above + (below - above) * (share - from) / (to - from))
    })
}
