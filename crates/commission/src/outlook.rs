//! What an instrument will likely show before it is read.

use crate::advice::network_of;
use crate::estimate::{Estimate, Interval};
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
    let known = estimate.state(state)?;
    let own = set_up.instruments().get(instrument)?;
    let network = network_of(set_up, estimate).ok()?;
    let scores = &estimate.posterior.scores;
    let value = network.shown(place, instrument, &known.flows, scores);
    let slopes = network.shown_slopes(place, instrument, &known.flows, &known.slopes, scores);
    let deviation = (estimate.posterior.variance(&slopes) + own.deviation(value).powi(2)).sqrt();
    Some(Interval::around(value, deviation))
}
