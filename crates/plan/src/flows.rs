//! Everything about one plan: every operating case, its uncertainty, and what would shrink it.

use crate::balance;
use crate::candidate::Plan;
use crate::case::{Branches, CaseFlows, OperatingCase, Wind, blower_modes, running_modes};
use crate::existing_ducts::ExistingDucts;
use crate::finding::{self, Finding};
use crate::inputs::{Inputs, Parameters};
use crate::installation::{Installation, Unsolved};
use crate::merit::{self, Merits, PartLine};
use crate::rate::{self, RequiredRate};
use crate::rules::Rules;
use crate::safety::AsFound;
use crate::side_effects::side_effects;
use house::model::{ChosenPlan, End, Job, Mode, Season, Setting, Side};
use rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Draws of the survey behind a band.
pub const DRAWS: usize = 200;

/// A fixed seed: the same survey always gives the same band.
pub(crate) const SEED: u64 = 0x1057_7011;

/// A 90 % band: a twentieth of the drawn houses lie below it, a twentieth above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Band {
    /// Half of its width.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// The band of what nobody has computed yet: its ends are no numbers.
    pub const UNKNOWN: Band = Band {
        low: f64::NAN,
        high: f64::NAN,
    };

    /// Whether it was computed.
    pub fn known(&self) -> bool {
        self.low.is_finite() && self.high.is_finite()
    }

    pub(crate) fn of(values: &mut [f64]) -> Self {
        if values.is_empty() {
            return Self::UNKNOWN;
        }
        values.sort_by(f64::total_cmp);
        let at = |part: f64| {
            let place = part * (values.len() - 1) as f64;
            let below = place.floor() as usize;
            let above = (below + 1).min(values.len() - 1);
            values[below] + (place - below as f64) * (values[above] - values[below])
        };
        Self {
            low: at(0.05),
            high: at(0.95),
        }
    }
}

/// One operating case with its bands.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseReport {
    /// Best estimate.
    pub flows: CaseFlows,
    /// The ventilator runs in this case under its interlock.
    pub runs: bool,
    /// Band of the supply flow (kg/s).
    pub supply: Band,
    /// Band of the extract flow (kg/s).
    pub extract: Band,
    /// Band of the outdoor air delivered to rooms (kg/s).
    pub delivered: Band,
    /// Band of the balance.
    pub balance: Band,
    /// What flows beside the unit, best estimate.
    pub branches: Branches,
}

impl CaseReport {
    fn expected(flows: CaseFlows, branches: Branches, running: &[Mode]) -> Self {
        let case = flows.case;
        Self {
            runs: case.setting != Setting::Off && running.contains(&case.blower),
            flows,
            supply: Band::UNKNOWN,
            extract: Band::UNKNOWN,
            delivered: Band::UNKNOWN,
            balance: Band::UNKNOWN,
            branches,
        }
    }

    fn take_bands(&mut self, drawn: &[&CaseFlows]) {
        let band = |value: fn(&CaseFlows) -> f64| {
            let mut values: Vec<f64> = drawn.iter().map(|flows| value(flows)).collect();
            Band::of(&mut values)
        };
        self.supply = band(|flows| flows.supply);
        self.extract = band(|flows| flows.extract);
        self.delivered = band(|flows| flows.delivered);
        self.balance = band(CaseFlows::balance);
    }
}

/// The measurement of the survey that would shrink the band of the balance most.
///
/// What only the installed unit can tell is left out here; the readings of the set-up day tell it.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// What is not known well enough.
    pub what: String,
    /// What to do.
    pub how: String,
    /// Half-width of the band of the balance now.
    pub now: f64,
    /// Half-width after it, if everything stays linear.
    pub after: f64,
}

/// Everything about one plan.
#[derive(Debug, Clone)]
pub struct FlowsReport {
    /// The plan with its dampers.
    pub plan: Plan,
    /// The dampers were set by the tool rather than given in the job file.
    pub dampers_set: bool,
    /// The rate to be met.
    pub required: RequiredRate,
    /// Every operating case in the order blower mode, setting, weather.
    pub cases: Vec<CaseReport>,
    /// Place in `cases` of the running case with the largest imbalance, if any runs.
    pub worst: Option<usize>,
    /// What would shrink the band of that case's balance most, if anything in the survey would.
    pub measurement: Option<Measurement>,
    /// Part of the variance of that balance that only the installed unit can tell, 0 to 1.
    pub known_on_the_day: f64,
    /// Merits over the running cases at the plan's setting.
    pub merits: Merits,
    /// Parts and prices.
    pub parts: Vec<PartLine>,
    /// What it all means, in sentences.
    pub findings: Vec<Finding>,
    /// How many draws of the survey had no solution; none should.
    pub draws_lost: usize,
}

/// Predicts the flows of a plan in every operating case, with bands from the survey.
///
/// With `wind`, every case is solved with that wind. Dampers without an angle in the job file are
/// set so that the running modes balance on a mild day.
pub fn flows(
    job: &Job,
    chosen: &ChosenPlan,
    wind: Option<Wind>,
) -> Result<FlowsReport, FlowsError> {
    let (plan, dampers_set) = with_dampers(job, chosen)?;
    report(job, plan, dampers_set, &Parameters::new(job), wind, &|| ())
}

/// A chosen plan with its dampers, and whether they were set here because the job file gives no
/// angle.
pub fn with_dampers(job: &Job, chosen: &ChosenPlan) -> Result<(Plan, bool), FlowsError> {
    let plan = Plan::from_chosen(chosen);
    if chosen.supply_damper.is_some() || chosen.extract_damper.is_some() {
        return Ok((plan, false));
    }
    let parameters = Parameters::new(job);
    let mut installation = Installation::new(job, Some(&plan), parameters.best(), false)?;
    balance::set_dampers(&mut installation, job, plan.setting)?;
    Ok((installation.plan().cloned().unwrap_or(plan), true))
}

/// The wind of the job's speed from north, east, south or west that drives the balance of a running
/// mode farthest from zero, at the plan's setting in any weather.
pub fn worst_wind(job: &Job, plan: &Plan) -> Result<Wind, FlowsError> {
    let parameters = Parameters::new(job);
    let running = running_modes(job, plan.interlock);
    let mut installation = Installation::new(job, Some(plan), parameters.best(), true)?;
    let wind_from = |from| Wind {
        speed: job.climate.wind_speed,
        from,
    };
    let mut worst = (wind_from(0.0), f64::NEG_INFINITY);
    for from in [0.0, 90.0, 180.0, 270.0] {
        let wind = wind_from(from);
        for case in operating_cases(job, plan, Some(wind)) {
            if case.setting == plan.setting && running.contains(&case.blower) {
                let [supply, exhaust] = installation.solve_streams(case)?;
                let balance = crate::case::balance(supply, exhaust).abs();
                if balance > worst.1 {
                    worst = (wind, balance);
                }
            }
        }
    }
    Ok(worst.0)
}

/// The same for a plan whose dampers are known, as the search leaves it. `rest` is called before each
/// drawn house, so that whoever asks can let something else go first.
pub fn flows_of(
    job: &Job,
    plan: &Plan,
    wind: Option<Wind>,
    rest: &dyn Fn(),
) -> Result<FlowsReport, FlowsError> {
    report(job, plan.clone(), true, &Parameters::new(job), wind, rest)
}

/// Why the flows of a plan could not be predicted.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowsError(pub String);

impl std::fmt::Display for FlowsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for FlowsError {}

impl From<crate::installation::CannotBuild> for FlowsError {
    fn from(error: crate::installation::CannotBuild) -> Self {
        Self(error.to_string())
    }
}

impl From<Unsolved> for FlowsError {
    fn from(error: Unsolved) -> Self {
        Self(error.to_string())
    }
}

/// All operating cases of a plan.
pub fn operating_cases(job: &Job, plan: &Plan, wind: Option<Wind>) -> Vec<OperatingCase> {
    let mut settings: Vec<Setting> = job.units[plan.unit]
        .settings
        .iter()
        .map(|tested| tested.setting)
        .collect();
    settings.push(Setting::Off);
    settings.sort();
    let mut cases = Vec::new();
    for blower in blower_modes(job) {
        for &setting in &settings {
            for season in [Season::Winter, Season::Mild, Season::Summer] {
                cases.push(OperatingCase {
                    blower,
                    setting,
                    season,
                    wind,
                });
            }
        }
    }
    cases
}

/// The same at best values alone, which is quick: bands are not known, no measurement is named.
pub fn expected(job: &Job, plan: &Plan, wind: Option<Wind>) -> Result<FlowsReport, FlowsError> {
    expected_of(job, plan.clone(), true, &Parameters::new(job), wind)
}

/// One operating case of a plan at best values, without bands.
pub fn one_case(job: &Job, plan: &Plan, case: OperatingCase) -> Result<CaseReport, FlowsError> {
    let parameters = Parameters::new(job);
    let windy = case.wind.is_some();
    let mut installation = Installation::new(job, Some(plan), parameters.best(), windy)?;
    let mut flows = installation.solve(case)?;
    flows.rooms = installation.rooms();
    let running = running_modes(job, plan.interlock);
    Ok(CaseReport::expected(
        flows,
        installation.branches(),
        &running,
    ))
}

/// The same with its bands, from the same drawn houses as those of [`flows`]; `rest` as in
/// [`flows_of`].
pub fn one_case_with_bands(
    job: &Job,
    plan: &Plan,
    case: OperatingCase,
    rest: &dyn Fn(),
) -> Result<CaseReport, FlowsError> {
    let mut report = one_case(job, plan, case)?;
    let draws = draw(job, plan, &Parameters::new(job), |inputs| {
        rest();
        solve_all(job, plan, &[case], inputs)
    });
    let drawn: Vec<&CaseFlows> = draws.cases.iter().flatten().collect();
    report.take_bands(&drawn);
    Ok(report)
}

/// Solves cases of one possible house.
fn solve_all(
    job: &Job,
    plan: &Plan,
    cases: &[OperatingCase],
    inputs: &Inputs,
) -> Result<Vec<CaseFlows>, FlowsError> {
    let windy = cases.iter().any(|case| case.wind.is_some());
    let mut installation = Installation::new(job, Some(plan), inputs, windy)?;
    cases
        .iter()
        .map(|&case| Ok(installation.solve(case)?))
        .collect()
}

fn report(
    job: &Job,
    plan: Plan,
    dampers_set: bool,
    parameters: &Parameters,
    wind: Option<Wind>,
    rest: &dyn Fn(),
) -> Result<FlowsReport, FlowsError> {
    let mut report = expected_of(job, plan, dampers_set, parameters, wind)?;
    let cases: Vec<OperatingCase> = report.cases.iter().map(|case| case.flows.case).collect();
    let draws = draw(job, &report.plan, parameters, |inputs| {
        rest();
        solve_all(job, &report.plan, &cases, inputs)
    });
    for (place, case) in report.cases.iter_mut().enumerate() {
        let drawn: Vec<&CaseFlows> = draws.cases.iter().map(|cases| &cases[place]).collect();
        case.take_bands(&drawn);
    }
    if let Some(worst) = report.worst {
        let band = report.cases[worst].balance;
        report.measurement = draws.best_measurement(parameters, worst, &band);
        report.known_on_the_day = draws.known_on_the_day(parameters, worst);
    }
    report.draws_lost = draws.lost;
    Ok(report)
}

fn expected_of(
    job: &Job,
    plan: Plan,
    dampers_set: bool,
    parameters: &Parameters,
    wind: Option<Wind>,
) -> Result<FlowsReport, FlowsError> {
    let cases = operating_cases(job, &plan, wind);
    let running = running_modes(job, plan.interlock);
    let mut installation = Installation::new(job, Some(&plan), parameters.best(), wind.is_some())?;
    let reports: Vec<CaseReport> = cases
        .iter()
        .map(|&case| {
            let mut flows = installation.solve(case)?;
            flows.rooms = installation.rooms();
            Ok(CaseReport::expected(
                flows,
                installation.branches(),
                &running,
            ))
        })
        .collect::<Result<_, FlowsError>>()?;
    let counts = |case: &CaseReport| case.runs && case.flows.case.setting == plan.setting;
    let worst = reports
        .iter()
        .enumerate()
        .filter(|(_, case)| counts(case))
        .max_by(|a, b| {
            let away = |case: &CaseReport| case.flows.balance().abs();
            away(a.1).total_cmp(&away(b.1))
        })
        .map(|(place, _)| place);
    let required = rate::required(job);
    let at_setting: Vec<CaseFlows> = reports
        .iter()
        .filter(|case| counts(case))
        .map(|case| case.flows.clone())
        .collect();
    let rules = Rules::new(job);
    let as_found = AsFound::new(job, parameters)?;
    let mut installation = Installation::new(job, Some(&plan), parameters.best(), false)?;
    let (effects, _) = side_effects(
        job,
        &rules,
        &as_found,
        &plan,
        &mut installation,
        &at_setting,
    )?;
    let merits = merit::merits(job, &plan, required.rate, &at_setting, effects);
    let findings = finding::findings(job, &plan, &required, &merits, &reports);
    Ok(FlowsReport {
        parts: merit::parts(job, &plan),
        plan,
        dampers_set,
        required,
        cases: reports,
        worst,
        measurement: None,
        known_on_the_day: 0.0,
        merits,
        findings,
        draws_lost: 0,
    })
}

/// The drawn houses: their scores, what could be read in them, and their flows.
struct Draws {
    scores: Vec<Vec<f64>>,
    readings: Vec<Vec<f64>>,
    reading_names: Vec<String>,
    cases: Vec<Vec<CaseFlows>>,
    lost: usize,
}

/// Deviation of a static-pressure reading with a good manometer at a good place (Pa), from memory.
const READING_DEVIATION: f64 = 0.7;

fn draw(
    job: &Job,
    plan: &Plan,
    parameters: &Parameters,
    solve: impl Fn(&Inputs) -> Result<Vec<CaseFlows>, FlowsError>,
) -> Draws {
    let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(SEED);
    let taps: Vec<usize> = plan
        .extract
        .iter()
        .chain(&plan.supply)
        .filter_map(|end| match end {
            End::Tap(tap) => Some(*tap),
            _ => None,
        })
        .collect();
    let mode = job.air_handler.as_ref().and_then(|handler| {
        handler
            .modes
            .iter()
            .position(|mode| mode.return_pressure.is_some())
            .or((!handler.modes.is_empty()).then_some(0))
    });
    let mut draws = Draws {
        scores: Vec::with_capacity(DRAWS),
        readings: Vec::with_capacity(DRAWS),
        reading_names: taps
            .iter()
            .filter_map(|&tap| {
                let mode = job.air_handler.as_ref()?.modes.get(mode?)?.mode;
                Some(format!(
                    "the static pressure at {} with the blower in {}",
                    job.taps[tap].name,
                    mode.name()
                ))
            })
            .collect(),
        cases: Vec::with_capacity(DRAWS),
        lost: 0,
    };
    for _ in 0..DRAWS {
        let scores: Vec<f64> = parameters
            .list()
            .iter()
            .map(|_| StandardNormal.sample(&mut random))
            .collect();
        let inputs = parameters.draw(&scores);
        match solve(&inputs) {
            Ok(cases) => {
                draws.readings.push(tap_readings(job, &taps, mode, &inputs));
                draws.scores.push(scores);
                draws.cases.push(cases);
            }
            Err(_) => draws.lost += 1,
        }
    }
    draws
}

/// Static pressures at the places of the taps in the house as found (Pa).
fn tap_readings(job: &Job, taps: &[usize], mode: Option<usize>, inputs: &Inputs) -> Vec<f64> {
    let (Some(handler), Some(mode)) = (&job.air_handler, mode) else {
        return Vec::new();
    };
    let ducts = ExistingDucts::infer(job, handler, inputs, air::STANDARD_DENSITY, 1.8e-5);
    taps.iter()
        .map(|&tap| {
            let tap = &job.taps[tap];
            let (path, leakage, sign) = match tap.side {
                Side::Return => (&ducts.return_path, inputs.return_leakage, -1.0),
                Side::Supply => (&ducts.supply_path, inputs.supply_leakage, 1.0),
            };
            let flow = ducts.operating_points[mode].0 * (1.0 - leakage);
            sign * path.resistance_to_rooms(tap.from_fan) * flow * flow
        })
        .collect()
}

impl Draws {
    /// Part of a balance's variance that comes from what only the installed unit can tell.
    fn known_on_the_day(&self, parameters: &Parameters, place: usize) -> f64 {
        let balances: Vec<f64> = self
            .cases
            .iter()
            .map(|cases| cases[place].balance())
            .collect();
        let part = |(index, _): (usize, &crate::inputs::Parameter)| {
            let values: Vec<f64> = self.scores.iter().map(|scores| scores[index]).collect();
            correlation(&values, &balances).powi(2)
        };
        let parameters = parameters.list().iter().enumerate();
        parameters
            .filter(|(_, parameter)| parameter.known_on_the_day)
            .map(part)
            .sum::<f64>()
            .min(1.0)
    }

    /// The measurement that explains most of a balance's variance, from the correlation between
    /// what it would tell and the balance: knowing a number with correlation r to the balance
    /// shrinks the band by √(1 − r² k), k being the part of the number's own variance that the
    /// measurement removes.
    fn best_measurement(
        &self,
        parameters: &Parameters,
        place: usize,
        band: &Band,
    ) -> Option<Measurement> {
        let balances: Vec<f64> = self
            .cases
            .iter()
            .map(|cases| cases[place].balance())
            .collect();
        let now = 0.5 * (band.high - band.low);
        let mut best: Option<(f64, String, String)> = None;
        let mut offer = |explained: f64, what: &str, how: &str| {
            if explained > best.as_ref().map_or(0.05, |(known, ..)| *known) {
                best = Some((explained, what.to_owned(), how.to_owned()));
            }
        };
        for (index, name) in self.reading_names.iter().enumerate() {
            let values: Vec<f64> = self
                .readings
                .iter()
                .map(|readings| readings[index])
                .collect();
            let variance = variance(&values);
            let removed = variance / (variance + READING_DEVIATION * READING_DEVIATION);
            let correlation = correlation(&values, &balances);
            offer(
                correlation * correlation * removed,
                name,
                &format!("read {name} before you cut, and put it in the job file"),
            );
        }
        for (index, parameter) in parameters.list().iter().enumerate() {
            if parameter.deviation <= 0.0 || parameter.known_on_the_day {
                continue;
            }
            let values: Vec<f64> = self.scores.iter().map(|scores| scores[index]).collect();
            let correlation = correlation(&values, &balances);
            let left = parameter.deviation_after / parameter.deviation;
            offer(
                correlation * correlation * (1.0 - left * left),
                &parameter.name,
                &parameter.remedy,
            );
        }
        best.map(|(explained, what, how)| Measurement {
            what,
            how,
            now,
            after: now * (1.0 - explained).max(0.0).sqrt(),
        })
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn variance(values: &[f64]) -> f64 {
    let middle = mean(values);
    values
        .iter()
        .map(|value| (value - middle) * (value - middle))
        .sum::<f64>()
        / values.len().max(2) as f64
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let (mean_a, mean_b) = (mean(a), mean(b));
    let covariance = a
        .iter()
        .zip(b)
        .map(|(a, b)| (a - mean_a) * (b - mean_b))
        .sum::<f64>()
        / a.len().max(2) as f64;
    let spread = (variance(a) * variance(b)).sqrt();
    if spread > 0.0 {
        covariance / spread
    } else {
        0.0
    }
}
