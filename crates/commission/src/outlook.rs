//! What an instrument will likely show before it is read.

use crate::advice::network_of;
use crate::belief::{Belief, Numbers};
use crate::estimate::{Estimate, Interval};
use crate::network::{Flows, Network};
use crate::setup::{Place, SetUp, State};

/// What an instrument (by its index) will show at a place in a state, with the interval in which 95
/// of 100 readings lie; nothing if the estimate does not know the state.
pub fn outlook(
    set_up: &SetUp,
    estimate: &Estimate,
    place: Place,
    instrument: usize,
    state: &State,
) -> Option<Interval> {
    let at = estimate.place(state)?;
    set_up.instruments().get(instrument)?;
    let network = network_of(set_up, estimate).ok()?;
    let belief = &estimate.belief;
    Some(expected(&network, belief, place, instrument, |around| {
        let around = &belief.arounds[around];
        (&around.flows[at], &around.slopes[at])
    }))
}

/// The same from the flows in every linearisation.
pub(crate) fn expected<'a>(
    network: &Network,
    belief: &Belief,
    place: Place,
    instrument: usize,
    flows: impl Fn(usize) -> (&'a Flows, &'a Vec<Vec<f64>>),
) -> Interval {
    let numbers: Vec<Numbers> = belief
        .arounds
        .iter()
        .enumerate()
        .map(|(at, around)| {
            let (flows, slopes) = flows(at);
            let mut numbers = Numbers::default();
            numbers.add(
                network.shown(place, instrument, flows, &around.scores),
                network.shown_slopes(place, instrument, flows, slopes, &around.scores),
            );
            numbers
        })
        .collect();
    let mixture = belief.numbers(&numbers);
    let value = mixture.parts[0].1.mean[0];
    let own = network.set_up().instruments()[instrument].deviation(value);
    let [low, high] = mixture.interval(0, own);
    Interval { value, low, high }
}
