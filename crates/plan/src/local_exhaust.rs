//! What takes moisture and smells out of kitchens and baths: the exhausts of the house, and the
//! ventilator where it may count.

use house::model::{End, Job, Layout, Serves};
use rules::rates::local::{Extract, RoomExhaust, WetRoom, existing_house_deficit, judge};
use units::{Quantity as _, System, VolumeFlow, both};

use crate::candidate::Plan;
use crate::flows::FlowsError;
use crate::rate;
use crate::usual::extract_of_grilles;

/// The exhausts of a job and how its rooms fare.
#[derive(Debug, Clone, PartialEq)]
pub struct LocalExhaust {
    /// The exhausts that serve a kitchen, bath, toilet or utility room.
    pub extracts: Vec<Extract>,
    /// How each room fares under the rules of the job.
    pub rooms: Vec<RoomExhaust>,
    /// Why the ventilator does not count, if it does not.
    pub not_counted: Option<String>,
    /// What an existing house without enough exhaust would add to the total of ASHRAE 62.2
    /// (m³/s), for information.
    pub deficit: f64,
}

impl LocalExhaust {
    /// How a room fares, as a sentence.
    pub fn room_words(&self, job: &Job, room: &RoomExhaust, system: System) -> String {
        // A rule with a form for each system is shown in that of the job only: the forms are
        // rounded apart.
        let forms = room.demand.on_demand.limit;
        let forms = forms.is_some_and(|limit| limit.inch_pound.is_some());
        let asked = |flow: f64| {
            if forms {
                VolumeFlow::from_si(flow).show(rate::form(job))
            } else {
                both(VolumeFlow::from_si(flow), system)
            }
        };
        let kind = room.demand.room.name();
        let (first, rest) = kind.split_at(kind.chars().next().map_or(0, char::len_utf8));
        let name = format!("{}{rest} {}", first.to_uppercase(), room.number);
        let asked = match room.continuous {
            Some(continuous) if continuous == room.on_demand => asked(continuous),
            Some(continuous) => format!(
                "{} on demand or {} all the time",
                asked(room.on_demand),
                asked(continuous)
            ),
            None => format!("{} on demand", asked(room.on_demand)),
        };
        match room.by.and_then(|at| self.extracts.get(at)) {
            None => format!("{name} has no exhaust; {asked} are asked."),
            Some(extract) => {
                let when = if extract.continuous {
                    "all the time"
                } else {
                    "on demand"
                };
                let verdict = if room.met { "enough" } else { "too little" };
                format!(
                    "{name}: {} takes {} {when}, {verdict}; {asked} are asked.",
                    extract.name,
                    both(VolumeFlow::from_si(extract.flow), system)
                )
            }
        }
    }
}

fn wet(serves: Serves) -> Option<(WetRoom, bool)> {
    match serves {
        Serves::KitchenHood => Some((WetRoom::Kitchen, true)),
        Serves::Kitchen => Some((WetRoom::Kitchen, false)),
        Serves::Bathroom => Some((WetRoom::Bathroom, false)),
        Serves::Toilet => Some((WetRoom::Toilet, false)),
        Serves::Utility => Some((WetRoom::Utility, false)),
        Serves::Nothing => None,
    }
}

/// Compares the exhausts of a job with its rules, with a plan or as the house was found. The
/// ventilator counts by the flow of each of its own extract grilles at the plan's setting on a mild
/// day, as an exhaust that runs all the time, and only if it does; not where it draws from the
/// return (rule `baths by the unit`).
///
/// # Errors
///
/// [`FlowsError`] if the network of the plan cannot be built or solved.
pub fn local_exhaust(job: &Job, plan: Option<&Plan>) -> Result<LocalExhaust, FlowsError> {
    let mut extracts: Vec<Extract> = job
        .exhausts
        .iter()
        .filter_map(|exhaust| {
            let (room, hood) = wet(exhaust.serves)?;
            Some(Extract {
                name: exhaust.name.clone(),
                room,
                flow: exhaust.flow,
                continuous: exhaust.continuous,
                hood,
            })
        })
        .collect();
    let mut not_counted = None;
    match plan {
        Some(plan) if matches!(plan.layout, Layout::ReturnToSupply | Layout::ReturnToReturn) => {
            not_counted = Some(
                "The ventilator draws from the return, so it does not count as the exhaust of a bath or kitchen (rule \"baths by the unit\", common practice).".to_owned(),
            );
        }
        Some(_) if job.rates.running.schedule.share() < 1.0 - 1e-9 => {
            not_counted = Some(
                "The ventilator does not run all the time, so its extract grilles count neither as a continuous exhaust nor as one on demand.".to_owned(),
            );
        }
        Some(plan) => {
            let grilles = plan.extract.iter().filter_map(|end| match end {
                End::Grille(grille) => Some(&job.grilles[*grille]),
                _ => None,
            });
            for (grille, mass_flow) in grilles.zip(extract_of_grilles(job, plan)?) {
                if let Some((room, _)) = wet(grille.serves) {
                    extracts.push(Extract {
                        name: format!("the ventilator at {}", grille.name),
                        room,
                        flow: mass_flow / air::STANDARD_DENSITY,
                        continuous: true,
                        hood: false,
                    });
                }
            }
        }
        None => {}
    }
    let form = rate::form(job);
    let rooms = &job.rates.rooms;
    Ok(LocalExhaust {
        rooms: judge(
            &job.rules,
            rooms,
            job.building.ceiling_height,
            &extracts,
            form,
        ),
        deficit: existing_house_deficit(rooms, &extracts, form),
        extracts,
        not_counted,
    })
}
