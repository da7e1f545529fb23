//! What may be typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use house::model::{Mode, Season, Setting};
use units::System;

/// Printed by `lungwort help`: the commands in the order of the job.
pub const FIRST_STEPS: &str = "\
Lungwort predicts the balance of a ventilation retrofit before the first hole is cut.

In the browser
  lungwort                open the workspace on this machine, with the example houses in it

Begin
  lungwort new            write a commented job file to start from
  lungwort check JOB      say what is wrong in it, what was read, what is assumed
  lungwort rates JOB      how much outdoor air it needs, by every rule side by side
  lungwort walls JOB      find where intake and exhaust may pierce the walls, and draw it
  lungwort plan JOB       try every combination that the survey allows, rank what works
  lungwort flows JOB      predict flows, balance and pressures of one plan in every operating case
  lungwort safety JOB     compare the worst depressurisation with the limit of each appliance
  lungwort insulation JOB say whether the ducts sweat, and what insulation keeps them dry
  lungwort sound JOB      predict how loud the ventilator is in each room

Set it up
  lungwort balance JOB    from readings to the damper to turn next, until rate and balance are proven
  lungwort checklist JOB  what else has to be looked at, and how it ended
  lungwort record JOB     sign it off; prove that a record is what was signed
  lungwort revisit JOB    compare a later visit with the set-up: what has drifted
  lungwort log JOB        show the journal of the day, and prove that no line was changed

Look behind the numbers
  lungwort rules          the rules as rows, with whose they are and how well they are known
  lungwort network FILE   solve a raw pressure network, to compare with another program
  lungwort checks         every check against a source outside the project
  lungwort schema         the format of a job file, for editors

Each command explains itself with --help.
";

/// Predict the balance of a heat- or energy-recovery ventilation retrofit before the first hole is
/// cut.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100, disable_help_subcommand = true)]
pub struct CommandLine {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// How to say it.
    #[command(flatten)]
    pub options: Options,
}

/// How results are printed.
#[derive(Debug, Clone, Args)]
pub struct Options {
    /// Print everything as JSON, for programs
    #[arg(long, global = true)]
    pub json: bool,
    /// Which units stand first; by default those of the file
    #[arg(long, global = true, value_name = "SYSTEM")]
    pub units: Option<Units>,
    /// Draw and write with ASCII characters only; by default where the locale is not UTF-8
    #[arg(long, global = true)]
    pub ascii: bool,
}

impl Options {
    /// Whether only ASCII characters may be printed: asked for, or because the locale says another
    /// character set than UTF-8. Where no locale is set at all, terminals of today know UTF-8.
    pub fn ascii(&self) -> bool {
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
            .into_iter()
            .filter_map(|name| std::env::var(name).ok())
            .find(|value| !value.is_empty());
        let other = locale.is_some_and(|locale| {
            let locale = locale.to_ascii_lowercase();
            !(locale.contains("utf-8") || locale.contains("utf8"))
        });
        self.ascii || other && cfg!(unix)
    }
}

/// The two systems of units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// Inch-pound: cfm, inWC, °F
    Ip,
    /// International: L/s, Pa, °C
    Si,
}

impl From<Units> for System {
    fn from(units: Units) -> Self {
        match units {
            Units::Ip => Self::Ip,
            Units::Si => Self::Si,
        }
    }
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the workspace in the browser; the same as no command at all
    Serve(Serve),
    /// Print the commands in the order of the job
    Help,
    /// Write a commented job file to start from
    New {
        /// Where to
        #[arg(default_value = "job.toml")]
        file: PathBuf,
        /// Replace a file that exists
        #[arg(long)]
        force: bool,
    },
    /// Say what is wrong in a job, what was read, and what is assumed
    Check {
        /// The job file
        job: PathBuf,
    },
    /// Try every combination that the survey allows, discard what breaks a rule, rank the rest
    Plan {
        /// The job file
        job: PathBuf,
        /// Tell everything about the plan at this place of the ranking
        #[arg(long, value_name = "N")]
        explain: Option<usize>,
        /// How many of the best plans to show beside the best of each layout
        #[arg(long, value_name = "N", default_value_t = 3)]
        top: usize,
    },
    /// Predict flows, balance and pressures of one plan in every operating case
    Flows(Flows),
    /// Say how much outdoor air the house needs by every rule, and what its leaks bring
    Rates {
        /// The job file
        job: PathBuf,
        /// Print the arithmetic of every rule with these words in its name, for instance 62.2 or
        /// F326, or of all; by default that of the deciding one
        #[arg(long, value_name = "NAME")]
        explain: Option<String>,
        /// The plan at this place of the ranking, for kitchens and baths; by default the plan of
        /// the job file
        #[arg(long, value_name = "N")]
        plan: Option<usize>,
        /// Say whether this flow would pass, for instance "95 cfm", in place of what the plan brings
        #[arg(long, value_name = "FLOW")]
        flow: Option<String>,
    },
    /// Find where intake and exhaust may pierce the drawn walls, and judge the terminals of the job
    Walls(WallsAsked),
    /// Say whether the zone of an appliance could be drawn down too far, as found and with a plan
    Safety {
        /// The job file
        job: PathBuf,
        /// The plan at this place of the ranking; by default the plan of the job file
        #[arg(long, value_name = "N")]
        plan: Option<usize>,
    },
    /// Say whether the ventilator's ducts sweat, and what insulation keeps them dry
    Insulation {
        /// The job file
        job: PathBuf,
        /// The plan at this place of the ranking; by default the plan of the job file, or the best
        #[arg(long, value_name = "N")]
        plan: Option<usize>,
    },
    /// Predict how loud the ventilator is in each room
    Sound {
        /// The job file
        job: PathBuf,
        /// The plan at this place of the ranking; by default the plan of the job file, or the best
        #[arg(long, value_name = "N")]
        plan: Option<usize>,
    },
    /// Balance the ventilator: from readings to the damper to turn, and the proof
    Balance(Balance),
    /// List the checks of the set-up day, and keep how each ended
    Checklist(Box<Checklist>),
    /// Sign a set-up off, or show its record and prove that it is what was signed
    Record(Record),
    /// Compare a later visit with the set-up: what has drifted
    Revisit(Revisit),
    /// Show the journal of a job and prove that no line was changed, or append to it
    Log(Box<Log>),
    /// List the rules: what they demand, whose they are, how well they are known
    Rules {
        /// A job: only the rules of its sets, with the numbers that it overrides
        job: Option<PathBuf>,
        /// Only this subject: rate, local exhaust, spot, layout, balance, siting, safety, insulation,
        /// sound, access, ducts, commissioning
        #[arg(long)]
        subject: Option<String>,
        /// Only this set, for instance "common practice", "IRC 2024", Canada, England
        #[arg(long)]
        set: Option<String>,
    },
    /// Solve a raw pressure network, so that the solver can be compared with another one
    Network {
        /// The network, see docs/network-file.md
        file: PathBuf,
    },
    /// Print every check against a source outside the project: expected, got, tolerance
    Checks,
    /// Print the JSON schema of a file format, for editors
    Schema {
        /// Which file
        #[arg(value_enum, default_value_t = File::Job)]
        file: File,
    },
}

/// How the workspace is served.
#[derive(Debug, Clone, Default, Args)]
pub struct Serve {
    /// Address and port; by default 127.0.0.1:8062, or another port if that is taken. One that other
    /// machines can reach needs a password in LUNGWORT_PASSWORD
    #[arg(long, value_name = "ADDRESS")]
    pub listen: Option<std::net::SocketAddr>,
    /// Folder for the jobs; by default where programs of this system keep what belongs to a user
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<PathBuf>,
    /// Do not open the browser
    #[arg(long)]
    pub no_open: bool,
}

/// Which plan `lungwort flows` shows, and in which case.
#[derive(Debug, Clone, Args)]
pub struct Flows {
    /// The job file
    pub job: PathBuf,
    /// The plan at this place of the ranking; by default the plan of the job file, or the best one
    #[arg(long, value_name = "N")]
    pub plan: Option<usize>,
    /// Let the wind of the job file blow from its worst side
    #[arg(long)]
    pub wind: bool,
    /// Draw this blower mode; by default the mode in which the ventilator runs most of the time
    #[arg(long, value_enum)]
    pub blower: Option<Blower>,
    /// Draw this setting of the ventilator; by default that of the plan
    #[arg(long, value_enum)]
    pub setting: Option<Ventilator>,
    /// Draw this weather
    #[arg(long, value_enum, default_value_t = Weather::Mild)]
    pub weather: Weather,
    /// Print every operating case instead of the telling ones
    #[arg(long)]
    pub all: bool,
    /// Draw the house in section into this SVG file, in place of one that is there
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Arrange that drawing for a phone
    #[arg(long, requires = "svg")]
    pub narrow: bool,
}

/// What `lungwort balance` works on.
#[derive(Debug, Clone, Args)]
pub struct Balance {
    /// The job file; its journal lies beside it
    pub job: PathBuf,
    /// Readings from this file instead of asking for them: steps in TOML, or a journal
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    /// Append the readings of the file to the journal of the job, and go on from all of it
    #[arg(long, requires = "readings")]
    pub keep: bool,
    /// Ask nothing: say how the journal stands
    #[arg(long)]
    pub status: bool,
    /// The plan at this place of the ranking; by default the plan of the job file
    #[arg(long, value_name = "N")]
    pub plan: Option<usize>,
    /// Who reads
    #[arg(long)]
    pub who: Option<String>,
}

/// What `lungwort checklist` keeps; nothing of it: it prints the list.
#[derive(Debug, Clone, Args)]
pub struct Checklist {
    /// The job file; its journal lies beside it
    pub job: PathBuf,
    /// This item was looked at
    #[arg(long, value_name = "ITEM")]
    pub done: Option<String>,
    /// How it ended
    #[arg(long, value_enum)]
    pub result: Option<Ended>,
    /// A remark
    #[arg(long)]
    pub note: Option<String>,
    /// File name of a photo, beside the job
    #[arg(long, value_name = "FILE")]
    pub photo: Option<String>,
    /// Print the worksheet of the depressurisation and combustion test
    #[arg(long)]
    pub worksheet: bool,
    /// Keep the combustion test of this appliance
    #[arg(long, value_name = "APPLIANCE", conflicts_with = "done")]
    pub combustion: Option<String>,
    /// Who tested, with the licence
    #[arg(long)]
    pub tester: Option<String>,
    /// Pressure of the zone against outdoors with everything off
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub base_pressure: Option<String>,
    /// The same in the worst state
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub worst_pressure: Option<String>,
    /// The worst state
    #[arg(long)]
    pub state: Option<String>,
    /// What the vent did: "draws at once", "draws after 2 min", "spills"
    #[arg(long)]
    pub spillage: Option<String>,
    /// Pressure of the vent against the room when it burns steadily, like "-3 Pa"
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub draft: Option<String>,
    /// Carbon monoxide in the flue, like "35 ppm"
    #[arg(long, value_name = "PPM")]
    pub carbon_monoxide: Option<String>,
    /// Carbon monoxide in the room
    #[arg(long, value_name = "PPM")]
    pub room_carbon_monoxide: Option<String>,
    /// Who writes; by default who wrote last
    #[arg(long)]
    pub who: Option<String>,
    /// The plan at this place of the ranking; by default the plan of the job file
    #[arg(long, value_name = "N")]
    pub plan: Option<usize>,
}

/// How a check ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Ended {
    /// As it should be
    Good,
    /// Not as it should be
    NotGood,
    /// Does not concern this house
    NotApplicable,
}

/// What `lungwort record` does.
#[derive(Debug, Clone, Args)]
pub struct Record {
    /// The job file; journal and record lie beside it
    pub job: PathBuf,
    /// Sign the set-up off as it stands
    #[arg(long)]
    pub sign: bool,
    /// Who signs
    #[arg(long)]
    pub who: Option<String>,
    /// Sign although something is open, for this reason
    #[arg(long, value_name = "REASON")]
    pub although: Option<String>,
    /// The plan at this place of the ranking; by default the plan of the job file
    #[arg(long, value_name = "N")]
    pub plan: Option<usize>,
}

/// What `lungwort revisit` compares.
#[derive(Debug, Clone, Args)]
pub struct Revisit {
    /// The job file; its journal lies beside it
    pub job: PathBuf,
    /// Begin a revisit in the journal, without the dialogue
    #[arg(long, conflicts_with = "readings")]
    pub begin: bool,
    /// Only compare what the journal holds
    #[arg(long, conflicts_with_all = ["readings", "begin"])]
    pub status: bool,
    /// Temperature outdoors
    #[arg(long, allow_hyphen_values = true)]
    pub outdoor: Option<String>,
    /// Temperature indoors
    #[arg(long)]
    pub indoor: Option<String>,
    /// Readings of the revisit from this file: steps in TOML
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    /// Append the readings of the file to the journal
    #[arg(long, requires = "readings")]
    pub keep: bool,
    /// Who reads
    #[arg(long)]
    pub who: Option<String>,
    /// The plan at this place of the ranking; by default the plan of the job file
    #[arg(long, value_name = "N")]
    pub plan: Option<usize>,
}

/// What `lungwort log` appends; nothing of it: it shows the journal.
#[derive(Debug, Clone, Args)]
pub struct Log {
    /// The job file; its journal lies beside it
    pub job: PathBuf,
    /// A reading was taken at this station
    #[arg(long, value_name = "STATION")]
    pub at: Option<String>,
    /// It shows this, with its unit
    #[arg(long, allow_hyphen_values = true)]
    pub value: Option<String>,
    /// The blower runs so
    #[arg(long, value_enum)]
    pub blower: Option<Blower>,
    /// The ventilator runs at this setting
    #[arg(long)]
    pub setting: Option<String>,
    /// Angle of the supply damper by its mark
    #[arg(long, value_name = "ANGLE")]
    pub supply_damper: Option<String>,
    /// Angle of the extract damper by its mark
    #[arg(long, value_name = "ANGLE")]
    pub extract_damper: Option<String>,
    /// The instrument
    #[arg(long)]
    pub instrument: Option<String>,
    /// File name of a photo of its display, beside the job
    #[arg(long, value_name = "FILE", requires = "at")]
    pub photo: Option<String>,
    /// This damper was turned
    #[arg(long, value_enum, requires = "to")]
    pub damper: Option<Damper>,
    /// To this angle by its mark
    #[arg(long, value_name = "ANGLE", requires = "damper")]
    pub to: Option<String>,
    /// Strike out the entry with this number; it stays, and does not count
    #[arg(long, value_name = "ENTRY", requires = "reason")]
    pub strike_out: Option<u64>,
    /// Why it is struck out
    #[arg(long, requires = "strike_out")]
    pub reason: Option<String>,
    /// A remark
    #[arg(long)]
    pub note: Option<String>,
    /// Who writes; by default who wrote last
    #[arg(long)]
    pub who: Option<String>,
    /// When, with the zone; by default now
    #[arg(long)]
    pub time: Option<String>,
    /// Read lines "STATION = VALUE" from the standard input, and confirm each when it is safe
    #[arg(long, conflicts_with_all = ["at", "value", "damper", "strike_out"])]
    pub lines: bool,
}

/// The two dampers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Damper {
    /// In the supply air
    Supply,
    /// In the extract air
    Extract,
}

/// What `lungwort walls` is asked.
#[derive(Debug, Clone, Args)]
pub struct WallsAsked {
    /// The job file
    pub job: PathBuf,
    /// Judge one point: a wall, the distance from its left corner, the height above the ground, for
    /// instance "north wall, 9 ft, 5 ft"
    #[arg(long, value_name = "WALL, ALONG, HEIGHT")]
    pub at: Option<String>,
    /// Draw each wall as an SVG file in this folder
    #[arg(long, value_name = "FOLDER")]
    pub svg: Option<PathBuf>,
}

/// Blower modes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Blower {
    /// Standing still
    Off,
    /// Continuous low speed
    Low,
    /// Heating speed
    Heating,
    /// Cooling speed
    Cooling,
}

impl From<Blower> for Mode {
    fn from(blower: Blower) -> Self {
        match blower {
            Blower::Off => Self::Off,
            Blower::Low => Self::Low,
            Blower::Heating => Self::Heating,
            Blower::Cooling => Self::Cooling,
        }
    }
}

/// Settings of the ventilator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Ventilator {
    /// Standing still
    Off,
    /// Low
    Low,
    /// High
    High,
    /// Boost
    Boost,
}

impl From<Ventilator> for Setting {
    fn from(setting: Ventilator) -> Self {
        match setting {
            Ventilator::Off => Self::Off,
            Ventilator::Low => Self::Low,
            Ventilator::High => Self::High,
            Ventilator::Boost => Self::Boost,
        }
    }
}

/// Conditions of weather.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Weather {
    /// Winter design
    Winter,
    /// A mild day
    Mild,
    /// Summer design
    Summer,
}

impl From<Weather> for Season {
    fn from(weather: Weather) -> Self {
        match weather {
            Weather::Winter => Self::Winter,
            Weather::Mild => Self::Mild,
            Weather::Summer => Self::Summer,
        }
    }
}

/// The files that have a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum File {
    /// A job
    Job,
    /// A catalogue of units
    Catalogue,
}
