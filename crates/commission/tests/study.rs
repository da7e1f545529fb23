//! The simulation study, small; `cargo bench -p commission --features parallel --bench study` plays
//! it in full.

mod common;

use commission::study::{Options, study};
use common::{chosen, example};
use house::model::Job;
use plan::Plan;

fn plans() -> Vec<(Job, Plan)> {
    [
        "duluth-furnace.toml",
        "tallahassee-heat-pump.toml",
        "flagstaff-crawlspace.toml",
    ]
    .map(|name| {
        let job = example(name);
        let plan = chosen(&job);
        (job, plan)
    })
    .into()
}

#[test]
fn the_same_seed_plays_the_same_days_and_more_houses_leave_the_first_as_they_were() {
    let plans = plans();
    let play = |houses, seed| {
        let options = Options {
            houses,
            seed,
            ..Options::default()
        };
        study(&plans, &options, &|_, _| {}).unwrap()
    };
    let six = play(6, 7);
    let nine = play(9, 7);
    assert_eq!((six.lost, nine.lost), (0, 0));
    for (a, b) in six.houses.iter().zip(&nine.houses) {
        assert_eq!(a.possible, b.possible);
        for (a, b) in [(a.advised, b.advised), (a.habit, b.habit)] {
            assert_eq!(
                (a.end, a.passes, a.readings, a.angles),
                (b.end, b.passes, b.readings, b.angles)
            );
        }
    }
    assert!(
        six.houses[0] != play(1, 8).houses[0],
        "another seed is another house"
    );
    assert!(study(&[], &Options::default(), &|_, _| {}).is_err());
}

#[test]
fn advice_ends_wrongly_less_often_than_the_habit() {
    let options = Options {
        houses: 45,
        seed: 3,
        ..Options::default()
    };
    let played = study(&plans(), &options, &|_, _| {}).unwrap();
    let (advised, habit) = (played.advised(), played.habit());
    assert_eq!((played.lost, advised.houses), (0, 45));
    assert!(advised.wrongly_done <= 0.07, "{advised:?}");
    assert!(
        habit.wrongly_done > 2.0 * advised.wrongly_done,
        "{habit:?} {advised:?}"
    );
    assert!(advised.met > habit.met, "{habit:?} {advised:?}");
    assert!(advised.median_passes <= 2.0 && advised.ninth_decile_passes <= 3.0);
    // Where it ended, the probability that was claimed is no boast.
    let claimed: Vec<f64> = played
        .houses
        .iter()
        .filter(|house| house.advised.end == commission::study::End::Done)
        .map(|house| house.advised.claimed)
        .collect();
    assert!(!claimed.is_empty() && claimed.iter().all(|claimed| *claimed >= 0.95));
}
