//! What a command has to say, and how it reaches the terminal.

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use diagnostics::{Problems, Style};
use serde_json::{Value, json};

use crate::command_line::Options;
use crate::text::ascii;

/// The answer of a command.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The result, for standard output.
    pub result: String,
    /// Warnings, for standard error.
    pub notes: String,
    /// Whether the answer is yes.
    pub yes: bool,
}

impl Outcome {
    /// The answer is yes.
    pub fn yes(result: impl Into<String>) -> Self {
        Self::new(result, true)
    }

    /// The answer is yes or no.
    pub fn new(result: impl Into<String>, yes: bool) -> Self {
        Self {
            result: result.into(),
            notes: String::new(),
            yes,
        }
    }

    /// The answer is a JSON value.
    pub fn json(value: &Value, yes: bool) -> Self {
        Self::new(format!("{value:#}\n"), yes)
    }

    /// The same answer with warnings.
    pub fn with_notes(mut self, notes: impl Into<String>) -> Self {
        self.notes = notes.into();
        self
    }
}

/// The input cannot be used.
#[derive(Debug)]
pub enum Failure {
    /// What is wrong in the files.
    Problems(Box<Problems>),
    /// What is wrong otherwise, and what to do about it.
    Message {
        /// What is wrong.
        message: String,
        /// What to do, may be empty.
        help: String,
    },
}

impl Failure {
    /// Something is wrong that has no place in a file.
    pub fn message(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Message {
            message: message.into(),
            help: help.into(),
        }
    }
}

/// Prints an answer and returns its exit code. A reader that has gone away is no error.
pub fn report(answer: Result<Outcome, Failure>, options: &Options) -> ExitCode {
    let (result, notes, code) = match answer {
        Ok(outcome) => (outcome.result, outcome.notes, u8::from(!outcome.yes)),
        Err(failure) if options.json => (json_of(&failure), String::new(), 2),
        Err(failure) => (String::new(), text_of(&failure), 2),
    };
    let result = if options.ascii() && !options.json {
        ascii(&result)
    } else {
        result
    };
    let written =
        write(io::stderr().lock(), &notes).and_then(|()| write(io::stdout().lock(), &result));
    match written {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            let _ = write(
                io::stderr().lock(),
                &format!("error: cannot print: {error}\n"),
            );
            ExitCode::from(2)
        }
        _ => ExitCode::from(code),
    }
}

fn write(mut stream: impl Write, text: &str) -> io::Result<()> {
    stream.write_all(text.as_bytes())?;
    stream.flush()
}

fn text_of(failure: &Failure) -> String {
    match failure {
        Failure::Problems(problems) => problems.render(style(&io::stderr())),
        Failure::Message { message, help } if help.is_empty() => format!("error: {message}\n"),
        Failure::Message { message, help } => format!("error: {message}\n  {help}\n"),
    }
}

fn json_of(failure: &Failure) -> String {
    let value = match failure {
        Failure::Problems(problems) => json!({ "problems": problems.to_json() }),
        Failure::Message { message, help } => json!({
            "problems": [{ "severity": "error", "message": message, "help": [help] }],
        }),
    };
    format!("{value:#}\n")
}

/// Whether what goes to standard output is coloured.
pub fn coloured() -> bool {
    style(&io::stdout()) == Style::Coloured
}

/// Colours only where a person sees them and has not declined them (the NO_COLOR convention).
pub fn style(stream: &impl IsTerminal) -> Style {
    let declined = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
        || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    if stream.is_terminal() && !declined {
        Style::Coloured
    } else {
        Style::Plain
    }
}
