//! Sound and condensation of plans.

use acoustics::energy_sum;
use house::model::{Job, Material, Season};
use plan::condensation::{Verdict, duct_surfaces, least_margin};
use plan::duct_runs::Use;
use plan::flows::with_dampers;
use plan::sound::{SoundReport, sound_in_rooms};
use plan::usual::usual_flows;
use plan::{CaseFlows, Plan};
use rules::RuleBook;

fn read(name: &str) -> Job {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let text = |name: &str| std::fs::read(folder.join(name)).map_err(|error| error.to_string());
    let bytes = text(name).expect("the example can be read");
    let source = diagnostics::Source::from_bytes(name, &bytes);
    house::file::read(&source, &mut |name| text(name))
        .job
        .expect("the example is a job")
}

fn chosen(job: &Job) -> (Plan, [CaseFlows; 3]) {
    let chosen = job.chosen.as_ref().expect("the example names a plan");
    let plan = with_dampers(job, chosen).expect("it can be solved").0;
    let flows = usual_flows(job, &plan).expect("it can be solved");
    (plan, flows)
}

fn sound(job: &Job, plan: &Plan, flows: &CaseFlows) -> SoundReport {
    sound_in_rooms(job, plan, flows, &RuleBook::common_practice()).expect("it can be computed")
}

const EXAMPLES: [&str; 3] = [
    "duluth-furnace.toml",
    "flagstaff-crawlspace.toml",
    "tallahassee-heat-pump.toml",
];

#[test]
fn every_room_has_a_level_with_a_band_and_a_target() {
    for name in EXAMPLES {
        let job = read(name);
        let (plan, flows) = chosen(&job);
        let report = sound(&job, &plan, &flows[1]);
        let conditioned = job.zones.iter().filter(|zone| zone.kind.conditioned());
        assert_eq!(report.rooms.len(), conditioned.count());
        for room in &report.rooms {
            let levels: Vec<f64> = room
                .ways
                .iter()
                .map(|way| way.path.level.a_weighted())
                .collect();
            assert!((energy_sum(levels.iter().copied()) - room.level.level).abs() < 1e-9);
            assert!(room.level.level >= levels[0] && levels.is_sorted_by(|a, b| a >= b));
            assert!(
                (0.0..60.0).contains(&room.level.level),
                "{name}: {:?}",
                room.level
            );
            // Never surer than the tables behind it.
            assert!(room.level.half_width >= 4.0);
            let target = if job.zones[room.zone].bedroom {
                30.0
            } else {
                35.0
            };
            assert_eq!(room.target, Some(target));
        }
    }
}

#[test]
fn a_louder_casing_and_a_shorter_duct_are_heard() {
    let mut job = read("flagstaff-crawlspace.toml");
    let (plan, flows) = chosen(&job);
    let before = sound(&job, &plan, &flows[1]);
    for setting in &mut job.units[plan.unit].settings {
        setting.sound = setting.sound.map(|level| level + 10.0);
    }
    let louder = sound(&job, &plan, &flows[1]);
    for run in &mut job.spots[plan.spot].runs {
        run.length *= 0.5;
    }
    let shorter = sound(&job, &plan, &flows[1]);
    job.ducts.material = Material::Galvanised;
    let bare = sound(&job, &plan, &flows[1]);
    for (place, room) in before.rooms.iter().enumerate() {
        assert!(louder.rooms[place].level.level > room.level.level);
        assert!(shorter.rooms[place].level.level > louder.rooms[place].level.level);
        assert!(bare.rooms[place].level.level > shorter.rooms[place].level.level);
    }
    assert!(bare.worst_excess() > before.worst_excess());
}

#[test]
fn a_tested_sound_power_narrows_the_band() {
    let mut job = read("duluth-furnace.toml");
    let (plan, flows) = chosen(&job);
    let estimated = sound(&job, &plan, &flows[1]);
    let level = estimated.ducts.bands.a_weighted();
    for setting in &mut job.units[plan.unit].settings {
        setting.duct_sound = Some(level);
    }
    let tested = sound(&job, &plan, &flows[1]);
    for (before, after) in estimated.rooms.iter().zip(&tested.rooms) {
        assert!((before.level.level - after.level.level).abs() < 1e-9);
        assert!(after.level.half_width < before.level.half_width);
    }
}

#[test]
fn cold_ducts_are_judged_in_both_seasons() {
    for name in EXAMPLES {
        let job = read(name);
        let (plan, flows) = chosen(&job);
        let ducts = duct_surfaces(&job, &plan, &flows).expect("they can be judged");
        assert_eq!(ducts.len(), 4, "{name}: all units hang inside");
        for duct in &ducts {
            assert!(matches!(duct.carries, Use::Intake | Use::Exhaust));
            assert_eq!(duct.verdict(), Verdict::Dry, "{name}: the job has R-8");
            for pair in duct.jackets.windows(2) {
                let warmer = |side: usize| {
                    (pair[1].surface[side] - pair[0].surface[side]).signum()
                        == (duct.around - duct.temperature).signum()
                };
                assert!(
                    warmer(0) && warmer(1),
                    "{name}: insulation brings the surface to the room"
                );
            }
            let winter = duct.season == Season::Winter;
            assert_eq!(duct.seal, winter, "{name}");
            assert!((duct.after - duct.around).abs() <= (duct.temperature - duct.around).abs());
        }
        // The short form for comparing plans is the least of the same margins.
        let least = ducts
            .iter()
            .map(|duct| duct.own.margin[0])
            .fold(f64::INFINITY, f64::min);
        let short: Vec<&CaseFlows> = flows.iter().collect();
        assert_eq!(least_margin(&job, &plan, &short), Ok(Some(least)), "{name}");
    }
}

#[test]
fn a_bare_cold_duct_sweats_and_the_needed_jacket_cures_it() {
    let mut job = read("duluth-furnace.toml");
    let (plan, flows) = chosen(&job);
    job.ducts.insulation = 0.0;
    let bare = duct_surfaces(&job, &plan, &flows).expect("they can be judged");
    let outdoor_air = &bare[0];
    assert_eq!(
        (outdoor_air.carries, outdoor_air.season),
        (Use::Intake, Season::Winter)
    );
    assert_eq!(outdoor_air.verdict(), Verdict::Sweats);
    let [Some(plain), Some(foil)] = outdoor_air.needed else {
        panic!("no jacket is enough: {:?}", outdoor_air.needed);
    };
    assert!(plain < foil);
    for (resistance, verdict) in [(plain, Verdict::DryIfPlain), (foil, Verdict::Dry)] {
        job.ducts.insulation = resistance * 1.001;
        let cured = duct_surfaces(&job, &plan, &flows).expect("they can be judged");
        assert_eq!(cured[0].verdict(), verdict);
    }
}

#[test]
fn moist_rooms_need_more_insulation() {
    let mut job = read("duluth-furnace.toml");
    let (plan, flows) = chosen(&job);
    let needed = |job: &Job| {
        duct_surfaces(job, &plan, &flows).expect("they can be judged")[0].needed[0].expect("some")
    };
    let dry = needed(&job);
    job.climate.humidity.indoor_winter = 0.5;
    assert!(needed(&job) > dry);
}

#[test]
fn a_unit_in_the_attic_has_all_its_ducts_judged() {
    let mut job = read("duluth-furnace.toml");
    let (mut plan, flows) = chosen(&job);
    plan.spot = job
        .spots
        .iter()
        .position(|spot| spot.name == "attic platform")
        .expect("a spot");
    job.ducts.insulation = 0.0;
    let ducts = duct_surfaces(&job, &plan, &flows).expect("they can be judged");
    assert_eq!(ducts.len(), 8);
    let extract = ducts
        .iter()
        .find(|duct| duct.carries == Use::Extract && duct.season == Season::Winter)
        .expect("extract air in winter");
    // Bare in a freezing attic: the house air condenses inside the duct.
    assert!(extract.inside_margin.expect("the attic is colder") < 0.0);
    job.ducts.insulation = 1.4;
    let insulated = duct_surfaces(&job, &plan, &flows).expect("they can be judged");
    let margin = |ducts: &[plan::condensation::DuctSurface]| {
        ducts
            .iter()
            .find_map(|duct| (duct.carries == Use::Extract).then_some(duct.inside_margin?))
    };
    assert!(margin(&insulated) > margin(&ducts));
}
