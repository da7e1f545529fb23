//! The set-up day: an identification by another method, and orifices by another library.

use airflow::{ElementId, Law, Network, NodeId, Solver};
use commission::Error;
use commission::device::{Device, PowerLaw, air_at, standard_air};
use commission::laplace::{Datum, Effort, Forward, most_probable};
use commission::mixture::Linear;
use commission::orifice::{Orifice, Taps};

use crate::{Check, Tolerance};

const SUBJECT: &str = "set-up day";

/// All checks of the set-up day.
pub fn checks() -> Vec<Check> {
    [identified(), explained(), orifices()].concat()
}

/// Rows of a table without its comments.
fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split(',').collect())
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or(f64::NAN)
}

/// Best value before and deviation of its logarithm; the last is the zero (Pa) itself.
const PRIOR: [(f64, f64); 10] = [
    (6000.0, 0.30),
    (8000.0, 0.30),
    (8000.0, 0.30),
    (6000.0, 0.30),
    (0.030, 0.15),
    (60.0, 0.25),
    (1.0, 0.05),
    (1.0, 0.05),
    (1.0, 0.01),
    (0.0, 0.30),
];

#[derive(Clone, Copy, PartialEq)]
enum Blower {
    Off,
    Heating,
    Cooling,
}

#[derive(Clone, Copy)]
enum Place {
    SupplyStation,
    ExtractStation,
    OutdoorPort,
    ExhaustPort,
}

/// The readings (Pa) with their deviations.
const READINGS: [(Place, Blower, f64, f64); 6] = [
    (Place::SupplyStation, Blower::Off, 105.1, 0.8),
    (Place::ExtractStation, Blower::Off, 110.3, 0.8),
    (Place::SupplyStation, Blower::Heating, 124.9, 0.9),
    (Place::ExtractStation, Blower::Heating, 96.6, 0.7),
    (Place::OutdoorPort, Blower::Off, -41.9, 0.5),
    (Place::ExhaustPort, Blower::Off, 26.5, 0.5),
];

/// A ventilator that draws from a return duct and delivers into it farther on.
struct House {
    solver: Solver,
    ducts: [ElementId; 4],
    leak: ElementId,
    between: ElementId,
    blower: ElementId,
    ports: [NodeId; 2],
    house: NodeId,
    station: Device,
}

fn resistance(linear: f64, quadratic: f64) -> Law {
    Law::Quadratic {
        linear,
        quadratic,
        density: air::STANDARD_DENSITY,
    }
}

fn fan(p0: f64, b: f64, c: f64) -> Law {
    Law::QuadraticFan {
        p0,
        b,
        c,
        density: air::STANDARD_DENSITY,
    }
}

impl House {
    fn new() -> Option<Self> {
        let mut network = Network::new();
        let outdoors = network.fixed_node("outdoors", 0.0, air::STANDARD_DENSITY);
        let mut node = |name: &str| network.node(name, air::STANDARD_DENSITY);
        let house = node("house");
        let far = node("extract tap");
        let near = node("supply tap");
        let plenum = node("return plenum");
        let supply_plenum = node("supply plenum");
        let [outdoor, supply, extract, exhaust] = [
            "outdoor port",
            "supply port",
            "extract port",
            "exhaust port",
        ]
        .map(&mut node);
        let mut add = |name: &str, from, to, law| network.element(name, from, to, law);
        let ducts = [
            add("outdoor duct", outdoors, outdoor, resistance(0.0, 6000.0)),
            add("supply duct", supply, near, resistance(0.0, 8000.0)),
            add("extract duct", far, extract, resistance(0.0, 8000.0)),
            add("exhaust duct", exhaust, outdoors, resistance(0.0, 6000.0)),
        ];
        add("supply fan", outdoor, supply, fan(190.0, 500.0, 14_000.0));
        add("extract fan", extract, exhaust, fan(180.0, 500.0, 15_000.0));
        add("return far", house, far, resistance(0.0, 90.0));
        let between = add("return between", far, near, resistance(0.0, 60.0));
        add("return near", near, plenum, resistance(0.0, 120.0));
        let blower = add("blower", plenum, supply_plenum, resistance(5.0, 80.0));
        add("supply", supply_plenum, house, resistance(0.0, 260.0));
        let leak = Law::Leak {
            coefficient: 0.030,
            exponent: 0.65,
        };
        let leak = add("leaks", outdoors, house, leak);
        Some(Self {
            solver: Solver::new(&network).ok()?,
            ducts,
            leak,
            between,
            blower,
            ports: [outdoor, exhaust],
            house,
            station: Device::PowerLaw(PowerLaw::new(0.0069, 0.5).ok()?),
        })
    }

    fn values(scores: &[f64]) -> [f64; 10] {
        std::array::from_fn(|k| {
            let (best, deviation) = PRIOR[k];
            let moved = deviation * scores[k];
            if best > 0.0 {
                best * moved.exp()
            } else {
                moved
            }
        })
    }

    /// Supply and extract flow (m³/s) with the blower in a mode.
    fn solve(&mut self, values: &[f64; 10], blower: Blower) -> Result<[f64; 2], Error> {
        let mut set = |element, law| {
            self.solver
                .set_law(element, law)
                .map_err(|error| Error(error.to_string()))
        };
        for (duct, value) in self.ducts.into_iter().zip(values) {
            set(duct, resistance(0.0, *value))?;
        }
        let leak = Law::Leak {
            coefficient: values[4],
            exponent: 0.65,
        };
        set(self.leak, leak)?;
        set(self.between, resistance(0.0, values[5]))?;
        let law = match blower {
            Blower::Off => resistance(5.0, 80.0),
            Blower::Heating => fan(240.0, 8.0, 560.0),
            Blower::Cooling => fan(330.0, 8.0, 560.0),
        };
        set(self.blower, law)?;
        // A second solve takes the imbalance down to rounding.
        for _ in 0..2 {
            self.solver
                .solve()
                .map_err(|error| Error(error.to_string()))?;
        }
        Ok([self.ducts[0], self.ducts[3]]
            .map(|duct| self.solver.mass_flow(duct) / air::STANDARD_DENSITY))
    }
}

impl Forward for House {
    fn expected(&mut self, scores: &[f64]) -> Result<Vec<f64>, Error> {
        let values = Self::values(scores);
        READINGS
            .iter()
            .map(|&(place, blower, _, _)| {
                let [supply, extract] = self.solve(&values, blower)?;
                let port = |port: usize| {
                    self.solver.pressure(self.ports[port]) - self.solver.pressure(self.house)
                };
                let air = standard_air();
                // The device's reference density is that of this air, to a tenth of a per mille.
                let thin = (air::STANDARD_DENSITY / air.density()).sqrt();
                let truth = match place {
                    Place::SupplyStation => self.station.shown(thin * supply / values[6], &air),
                    Place::ExtractStation => self.station.shown(thin * extract / values[7], &air),
                    Place::OutdoorPort => port(0),
                    Place::ExhaustPort => port(1),
                };
                Ok(values[8] * truth + values[9])
            })
            .collect()
    }

    fn slopes(&mut self, scores: &[f64]) -> Result<Vec<Vec<f64>>, Error> {
        let columns = differences(scores, |moved| self.expected(moved))?;
        Ok((0..READINGS.len())
            .map(|row| columns.iter().map(|column| column[row]).collect())
            .collect())
    }
}

/// Central differences of fourth order by each score.
fn differences(
    scores: &[f64],
    mut of: impl FnMut(&[f64]) -> Result<Vec<f64>, Error>,
) -> Result<Vec<Vec<f64>>, Error> {
    const STEP: f64 = 5e-3;
    let mut moved = scores.to_vec();
    (0..scores.len())
        .map(|k| {
            let mut at = |by: f64| {
                moved[k] = scores[k] + by * STEP;
                let values = of(&moved);
                moved[k] = scores[k];
                values
            };
            let (a, b, c, d) = (at(-2.0)?, at(-1.0)?, at(1.0)?, at(2.0)?);
            Ok((0..a.len())
                .map(|i| (a[i] - 8.0 * b[i] + 8.0 * c[i] - d[i]) / (12.0 * STEP))
                .collect())
        })
        .collect()
}

/// Value and deviation of everything that the table lists, in its order.
fn identify() -> Result<Vec<(f64, f64)>, Error> {
    let mut house =
        House::new().ok_or_else(|| Error("the network of the check is refused".into()))?;
    let data = READINGS.map(|(_, _, value, deviation)| Datum { value, deviation });
    let posterior = most_probable(
        &mut house,
        &data,
        &[true; READINGS.len()],
        &[1.0; PRIOR.len()],
        &[0.0; PRIOR.len()],
        Effort::EXACT,
    )?;
    let values = House::values(&posterior.scores);
    let mut list: Vec<(f64, f64)> = (0..PRIOR.len())
        .map(|k| (values[k], PRIOR[k].1 * posterior.deviation(k)))
        .collect();
    let mut predicted = |scores: &[f64]| -> Result<Vec<f64>, Error> {
        let [supply, extract] = house.solve(&House::values(scores), Blower::Cooling)?;
        Ok(vec![
            supply,
            extract,
            (supply - extract) / supply.max(extract),
        ])
    };
    let flows = predicted(&posterior.scores)?;
    let columns = differences(&posterior.scores, &mut predicted)?;
    for (row, flow) in flows.into_iter().enumerate() {
        let slopes: Vec<f64> = columns.iter().map(|column| column[row]).collect();
        list.push((flow, posterior.variance(&slopes).sqrt()));
    }
    Ok(list)
}

fn identified() -> Vec<Check> {
    const TABLE: &str = include_str!("../tables/commission_identified.csv");
    let found = identify().unwrap_or_default();
    rows(TABLE)
        .enumerate()
        .flat_map(|(at, row)| {
            let (value, deviation) = found.get(at).copied().unwrap_or((f64::NAN, f64::NAN));
            let (what, expected, spread) = (row[0], number(row[1]), number(row[2]));
            let check = |input: String, expected, got| Check {
                subject: SUBJECT,
                source: "least squares with scipy, computed by an independent method".to_owned(),
                input,
                unit: "SI",
                expected,
                got,
                tolerance: Tolerance::Relative(2e-5),
            };
            [
                check(
                    format!("six readings in two blower modes: {what}"),
                    expected,
                    value,
                ),
                check(
                    format!("the same: standard deviation of {what}"),
                    spread,
                    deviation,
                ),
            ]
        })
        .collect()
}

/// Fifteen explanations of six readings that are linear in four scores: their weights, and what each
/// makes of a fifth number.
fn explained() -> Vec<Check> {
    const TABLE: &str = include_str!("../tables/commission_explanations.csv");
    const SHOWN: [f64; 6] = [5.1, 3.9, 4.4, 6.0, 2.9, 4.6];
    const SHIFT: [f64; 4] = [2.0, 0.5, -1.0, 0.3];
    const ROW: [f64; 4] = [0.7, -0.4, 1.1, 0.2];
    let slopes: Vec<Vec<f64>> = (0..6)
        .map(|row| {
            (0..4)
                .map(|column| f64::from(4 * row + column + 1).sin() + SHIFT[column as usize])
                .collect()
        })
        .collect();
    let readings = Linear::new(slopes, SHOWN.to_vec());
    let mut found = Vec::new();
    for (times, chance) in [(1.0, 0.6), (1.5, 0.3), (2.25, 0.1)] {
        for fault in [None, Some(0), Some(1), Some(2), Some(3)] {
            let mut prior = [times * times; 4];
            let mut odds = 1.0_f64;
            let mut wider = Vec::new();
            if let Some(score) = fault {
                prior[score] = 16.0;
                odds = 0.04 / 0.96;
                wider.push((score, 16.0));
            }
            let evidence = 0.5 * readings.weigh(times, &wider).0;
            let scores = readings.scores(&prior);
            let (mean, deviation) = scores.combined(&ROW);
            found.push((chance * odds * evidence.exp(), mean, deviation));
        }
    }
    let sum: f64 = found.iter().map(|known| known.0).sum();
    rows(TABLE)
        .enumerate()
        .flat_map(|(at, row)| {
            let (weight, mean, deviation) =
                found
                    .get(at)
                    .copied()
                    .unwrap_or((f64::NAN, f64::NAN, f64::NAN));
            let check = |what: &str, expected, got| Check {
                subject: SUBJECT,
                source: "multivariate normal and least squares with scipy".to_owned(),
                input: format!("six readings, explained by {}: {what}", row[0]),
                unit: "-",
                expected: number(expected),
                got,
                tolerance: Tolerance::Relative(1e-6),
            };
            [
                check("weight", row[1], weight / sum),
                check("mean of a number", row[2], mean),
                check("its standard deviation", row[3], deviation),
            ]
        })
        .collect()
}

fn orifices() -> Vec<Check> {
    const TABLE: &str = include_str!("../tables/commission_orifices.csv");
    rows(TABLE)
        .flat_map(|row| {
            let taps = match row[0] {
                "corner" => Taps::Corner,
                "flange" => Taps::Flange,
                _ => Taps::DiameterAndHalf,
            };
            let [duct, bore, difference, discharge, expansibility, flow] =
                std::array::from_fn(|at| number(row[at + 1]));
            let orifice = Orifice::new(bore, duct, taps);
            // The table's air: 1.2041 kg/m³ at sea level, 1.82e-5 Pa·s against 1.813e-5 here.
            let temperature = air::STANDARD_PRESSURE / (287.042 * 1.2041) - 273.15;
            let got = |value: &dyn Fn(&Orifice, &air::AirState) -> f64| match (
                &orifice,
                air_at(temperature, 0.0, 0.0),
            ) {
                (Ok(orifice), Ok(air)) => value(orifice, &air),
                _ => f64::NAN,
            };
            let reynolds = flow * 1.2041 / (std::f64::consts::FRAC_PI_4 * duct * 1.82e-5);
            let check = |what: &str, unit, expected, got, tolerance| Check {
                subject: SUBJECT,
                source: "ISO 5167-2 as fluids 1.3.1 computes it".to_owned(),
                input: format!(
                    "{what} of an orifice {:.0} mm in {:.0} mm, {} taps, {difference} Pa",
                    1e3 * bore,
                    1e3 * duct,
                    row[0]
                ),
                unit,
                expected,
                got,
                tolerance,
            };
            [
                check(
                    "discharge coefficient",
                    "-",
                    discharge,
                    got(&|orifice, _| orifice.discharge(reynolds)),
                    Tolerance::Relative(1e-6),
                ),
                check(
                    "expansibility",
                    "-",
                    expansibility,
                    got(&|orifice, _| orifice.expansibility(difference, air::STANDARD_PRESSURE)),
                    Tolerance::Relative(1e-6),
                ),
                check(
                    "flow",
                    "m³/s",
                    flow,
                    // The viscosity differs by 0.3 %, the flow by far less.
                    got(&|orifice, air| orifice.flow(difference, air)),
                    Tolerance::Relative(5e-4),
                ),
            ]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_pass() {
        let failed: Vec<_> = super::checks()
            .into_iter()
            .filter(|check| !check.passes())
            .collect();
        assert!(failed.is_empty(), "{failed:#?}");
    }
}
