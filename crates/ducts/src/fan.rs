//! Fans as falling curves of volume flow against pressure rise.
//!
//! A network solver asks every element for its flow at a given pressure difference. A fan answers
//! with [`Fan::flow`] at a pressure *rise*; the flow falls strictly with the rise and has a
//! continuous derivative everywhere, far outside the rated range too, because a solver may pass
//! there on its way. A stall hump, where one rise belongs to two flows, is refused.

use crate::error::{Error, require, require_not_negative, require_positive};
use crate::interpolate::{MOST_POINTS, MonotoneCubic};
use crate::resistance::odd_quadratic_root;

/// Smallest slope at the first or last point of a curve, by the secant of its interval.
const LEAST_END_SLOPE: f64 = 0.05;

/// A fan known by points of its curve.
///
/// Between the points the flow is a monotone piecewise-cubic of the rise. Below the first point it
/// goes on along the first slope. Past the last it falls ever more steeply to zero, and then turns
/// back through the standing wheel as through a passive resistance, which drops the last rise at
/// the first flow.
///
/// ```
/// use ducts::FanCurve;
/// let curve = FanCurve::new(&[(50.0, 0.060), (100.0, 0.052), (150.0, 0.040), (200.0, 0.022)])?;
/// let (flow, slope) = curve.flow(100.0);
/// assert!((flow - 0.052).abs() < 1e-15 && slope < 0.0);
/// # Ok::<(), ducts::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FanCurve {
    curve: MonotoneCubic,
    /// Second-order coefficient of the fall past the last point.
    fall: f64,
    /// Rise at which the flow is zero.
    shut_off: f64,
    /// Passive resistance of reverse flow past the shut-off: linear and quadratic coefficient.
    reverse_linear: f64,
    reverse_quadratic: f64,
}

impl FanCurve {
    /// Curve through 2 to 16 points (pressure rise in Pa, volume flow in m³/s), the rises going up.
    ///
    /// # Errors
    /// Refuses too few or too many points, numbers that are not finite, flows below 0, rises that
    /// do not go up and flows that do not go down; names the two points.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, Error> {
        if !(2..=MOST_POINTS).contains(&points.len()) {
            return Err(Error::Count {
                quantity: "points of a fan curve",
                found: points.len(),
                accepted: "2 to 16",
            });
        }
        for &(rise, flow) in points {
            require("pressure rise of a fan [Pa]", rise, "a finite number", true)?;
            require_not_negative("volume flow of a fan [m³/s]", flow)?;
        }
        for pair in points.windows(2) {
            let order = |rule| Error::Order {
                rule,
                first: pair[0],
                second: pair[1],
            };
            if pair[1].0 <= pair[0].0 {
                return Err(order("pressure rises of a fan curve must go up"));
            }
            if pair[1].1 >= pair[0].1 {
                return Err(order(
                    "the flow of a fan must fall as the pressure rise (Pa, m³/s) goes up",
                ));
            }
        }
        let last = points.len() - 1;
        let secant = |i: usize| (points[i + 1].1 - points[i].1) / (points[i + 1].0 - points[i].0);
        let curve = MonotoneCubic::new(points);
        // The shape-preserving end slope may be zero; a fan must still fall there.
        let [(_, _, first_slope), (_, _, last_slope)] = curve.ends();
        let curve = curve.with_end_slopes(
            first_slope.min(LEAST_END_SLOPE * secant(0)),
            last_slope.min(LEAST_END_SLOPE * secant(last - 1)),
        );
        let [
            (first_rise, first_flow, _),
            (last_rise, last_flow, last_slope),
        ] = curve.ends();
        // Reach zero in half the distance of the tangent, or one interval at most.
        let tangent_distance = -last_flow / last_slope;
        let distance = (0.5 * tangent_distance).min(last_rise - points[last - 1].0);
        let fall = if distance > 0.0 {
            (last_flow + last_slope * distance) / (distance * distance)
        } else {
            0.0
        };
        let scale = last_rise.abs().max(last_rise - first_rise);
        Ok(Self {
            curve,
            fall,
            shut_off: last_rise + distance,
            reverse_linear: -1.0 / (last_slope - 2.0 * fall * distance),
            reverse_quadratic: scale / (first_flow * first_flow),
        })
    }

    /// The points of the curve: (pressure rise in Pa, volume flow in m³/s).
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.curve.points()
    }

    /// Pressure rise (Pa) at which the curve, continued past its last point, delivers nothing.
    pub fn shut_off(&self) -> f64 {
        self.shut_off
    }

    /// Volume flow (m³/s) at a pressure rise (Pa), and its derivative by the rise.
    pub fn flow(&self, rise: f64) -> (f64, f64) {
        let [
            (first, first_flow, first_slope),
            (last, last_flow, last_slope),
        ] = self.curve.ends();
        if rise < first {
            (first_flow + first_slope * (rise - first), first_slope)
        } else if rise <= last {
            self.curve.at(rise)
        } else if rise < self.shut_off {
            let past = rise - last;
            (
                last_flow + past * (last_slope - self.fall * past),
                last_slope - 2.0 * self.fall * past,
            )
        } else {
            let (reverse, slope) = odd_quadratic_root(
                self.reverse_linear,
                self.reverse_quadratic,
                rise - self.shut_off,
            );
            (-reverse, -slope)
        }
    }

    /// The curve at another speed and density, by the fan laws: the flow is proportional to the
    /// speed, the rise to the density and to the square of the speed. Both arguments are ratios to
    /// the rated state.
    ///
    /// # Errors
    /// Refuses ratios that are not above 0.
    pub fn at(&self, speed_ratio: f64, density_ratio: f64) -> Result<Self, Error> {
        require_positive("speed ratio [-]", speed_ratio)?;
        require_positive("density ratio [-]", density_ratio)?;
        let rise_ratio = density_ratio * speed_ratio * speed_ratio;
        let mut points = [(0.0, 0.0); MOST_POINTS];
        let mut count = 0;
        for (slot, (rise, flow)) in points.iter_mut().zip(self.points()) {
            *slot = (rise * rise_ratio, flow * speed_ratio);
            count += 1;
        }
        Self::new(&points[..count])
    }
}

/// A fan with the curve `rise = p₀ − b Q − c Q|Q|`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuadraticFan {
    shut_off: f64,
    linear: f64,
    quadratic: f64,
}

impl QuadraticFan {
    /// Fan with the rise p₀ at no flow (Pa), b (Pa/(m³/s)) and c (Pa/(m³/s)²).
    ///
    /// # Errors
    /// Refuses b that is not above 0, without which the flow at shut-off has no finite slope, and
    /// c below 0.
    pub fn new(shut_off: f64, linear: f64, quadratic: f64) -> Result<Self, Error> {
        require(
            "shut-off pressure rise [Pa]",
            shut_off,
            "a finite number",
            true,
        )?;
        require_positive("linear coefficient of a fan [Pa/(m³/s)]", linear)?;
        require_not_negative("quadratic coefficient of a fan [Pa/(m³/s)²]", quadratic)?;
        Ok(Self {
            shut_off,
            linear,
            quadratic,
        })
    }

    /// Curve through one measured point (m³/s, Pa), with a slope there given as the fraction σ of
    /// the flow that is lost per pascal of extra rise (1/Pa).
    ///
    /// From dp/dQ = −2 c Q = −1/(σ Q): `c = 1/(2 σ Q²)` and `p₀ = p + 1/(2 σ)`. One thousandth of
    /// the slope is given to the linear term, so that the slope at shut-off stays finite; point
    /// and slope are met exactly.
    ///
    /// ```
    /// // 400 L/s against 125 Pa, 10 % of the flow lost per 25 Pa.
    /// let blower = ducts::QuadraticFan::through_point(0.4, 125.0, 0.10 / 25.0)?;
    /// assert!((blower.flow(125.0).0 - 0.4).abs() < 1e-12);
    /// assert!((blower.shut_off() - 250.0).abs() < 0.2);
    /// # Ok::<(), ducts::Error>(())
    /// ```
    ///
    /// # Errors
    /// Refuses a flow or a relative loss that is not above 0.
    pub fn through_point(
        volume_flow: f64,
        rise: f64,
        relative_flow_loss_per_pascal: f64,
    ) -> Result<Self, Error> {
        const LINEAR_SHARE: f64 = 0.001;
        require_positive("volume flow of a fan [m³/s]", volume_flow)?;
        require_positive(
            "relative flow loss of a fan [1/Pa]",
            relative_flow_loss_per_pascal,
        )?;
        let steepness = 1.0 / (relative_flow_loss_per_pascal * volume_flow);
        let linear = LINEAR_SHARE * steepness;
        let quadratic = 0.5 * (1.0 - LINEAR_SHARE) * steepness / volume_flow;
        let shut_off = rise + volume_flow * (linear + quadratic * volume_flow);
        Self::new(shut_off, linear, quadratic)
    }

    /// Pressure rise (Pa) at no flow.
    pub fn shut_off(&self) -> f64 {
        self.shut_off
    }

    /// Volume flow (m³/s) at a pressure rise (Pa), and its derivative by the rise.
    pub fn flow(&self, rise: f64) -> (f64, f64) {
        let (flow, slope) = odd_quadratic_root(self.linear, self.quadratic, self.shut_off - rise);
        (flow, -slope)
    }

    /// Pressure rise (Pa) at a volume flow (m³/s).
    pub fn rise(&self, volume_flow: f64) -> f64 {
        self.shut_off - volume_flow * (self.linear + self.quadratic * volume_flow.abs())
    }

    /// The curve at another speed and density, by the fan laws (see [`FanCurve::at`]).
    ///
    /// # Errors
    /// Refuses ratios that are not above 0.
    pub fn at(&self, speed_ratio: f64, density_ratio: f64) -> Result<Self, Error> {
        require_positive("speed ratio [-]", speed_ratio)?;
        require_positive("density ratio [-]", density_ratio)?;
        Self::new(
            self.shut_off * density_ratio * speed_ratio * speed_ratio,
            self.linear * density_ratio * speed_ratio,
            self.quadratic * density_ratio,
        )
    }
}

/// The curve of a fan at its highest speed.
#[derive(Debug, Clone, Copy, PartialEq)]
// Both are small fixed values that are copied once; a box would cost an allocation instead.
#[allow(clippy::large_enum_variant)]
pub enum Ceiling {
    /// A curve through points.
    Curve(FanCurve),
    /// A quadratic curve.
    Quadratic(QuadraticFan),
}

impl Ceiling {
    /// Volume flow (m³/s) at a pressure rise (Pa), and its derivative by the rise.
    pub fn flow(&self, rise: f64) -> (f64, f64) {
        match self {
            Ceiling::Curve(curve) => curve.flow(rise),
            Ceiling::Quadratic(curve) => curve.flow(rise),
        }
    }
}

/// A blower whose motor holds the air flow until it reaches its highest speed.
///
/// The flow is a smooth minimum of the set line and of the ceiling,
/// `½ (a + b − √((a − b)² + w²))`, whose width w is 2 % of the set flow: where line and ceiling
/// meet it lies 1 % below them, far from there it follows the smaller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConstantFlowFan {
    flow_set: f64,
    slope: f64,
    ceiling: Ceiling,
}

impl ConstantFlowFan {
    /// Blower set to `flow_set` (m³/s at no rise), which still loses `slope` (m³/s per Pa, 1e-4 is
    /// typical of a furnace blower) of it, below the `ceiling` of its highest speed.
    ///
    /// # Errors
    /// Refuses a set flow or a slope that is not above 0.
    pub fn new(flow_set: f64, slope: f64, ceiling: Ceiling) -> Result<Self, Error> {
        require_positive("set volume flow of a fan [m³/s]", flow_set)?;
        require_positive("flow lost per pascal [m³/s per Pa]", slope)?;
        Ok(Self {
            flow_set,
            slope,
            ceiling,
        })
    }

    /// Volume flow (m³/s) at a pressure rise (Pa), and its derivative by the rise.
    pub fn flow(&self, rise: f64) -> (f64, f64) {
        let line = self.flow_set - self.slope * rise;
        let (ceiling, ceiling_slope) = self.ceiling.flow(rise);
        let width = 0.02 * self.flow_set;
        let difference = line - ceiling;
        let root = (difference * difference + width * width).sqrt();
        let line_weight = 0.5 * (1.0 - difference / root);
        (
            0.5 * (line + ceiling - root),
            -self.slope * line_weight + ceiling_slope * (1.0 - line_weight),
        )
    }
}

/// Any fan.
#[derive(Debug, Clone, Copy, PartialEq)]
// See `Ceiling`.
#[allow(clippy::large_enum_variant)]
pub enum Fan {
    /// A curve through points.
    Curve(FanCurve),
    /// A quadratic curve.
    Quadratic(QuadraticFan),
    /// A motor that holds the flow.
    ConstantFlow(ConstantFlowFan),
}

impl Fan {
    /// Volume flow (m³/s) at a pressure rise (Pa), and its derivative by the rise, below 0.
    pub fn flow(&self, rise: f64) -> (f64, f64) {
        match self {
            Fan::Curve(fan) => fan.flow(rise),
            Fan::Quadratic(fan) => fan.flow(rise),
            Fan::ConstantFlow(fan) => fan.flow(rise),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    prop_compose! {
        fn any_points()(
            start in -50.0..100.0f64,
            last_flow in prop_oneof![Just(0.0), 0.0..0.1f64],
            steps in prop::collection::vec((1.0..80.0f64, 1e-4..0.05f64), 1..15),
        ) -> Vec<(f64, f64)> {
            let total: f64 = steps.iter().map(|step| step.1).sum();
            let mut point = (start, last_flow + total);
            let mut points = vec![point];
            for (i, (rise, fall)) in steps.iter().enumerate() {
                point.0 += rise;
                point.1 = if i + 1 == steps.len() { last_flow } else { point.1 - fall };
                points.push(point);
            }
            points
        }
    }

    fn falls_without_kink(fan: &Fan, rise: f64) -> Result<(), TestCaseError> {
        let step = 1e-5;
        let (flow, slope) = fan.flow(rise);
        let (above, above_slope) = fan.flow(rise + step);
        let (below, below_slope) = fan.flow(rise - step);
        prop_assert!(below > flow && flow > above, "{below} {flow} {above}");
        prop_assert!(slope < 0.0);
        let difference = (above - below) / (2.0 * step);
        // Between the slopes at both sides, whichever bend lies there.
        let bend = (above_slope - slope).abs() + (slope - below_slope).abs();
        prop_assert!((difference - slope).abs() <= bend + 1e-6 * slope.abs() + 1e-9);
        // A kink would stay however near the two sides are; a bend goes away.
        let kink = (fan.flow(rise + 1e-8).1 - fan.flow(rise - 1e-8).1).abs();
        prop_assert!(
            kink < 1e-3 * slope.abs() + 1e-10,
            "kink of {kink} in {slope}"
        );
        Ok(())
    }

    proptest! {
        #[test]
        fn curves_fall_everywhere(points in any_points(), place in -1.0..3.0f64) {
            let curve = FanCurve::new(&points).unwrap();
            let (first, last) = (points[0].0, points[points.len() - 1].0);
            falls_without_kink(&Fan::Curve(curve), first + place * (last - first))?;
            falls_without_kink(&Fan::Curve(curve), first)?;
            falls_without_kink(&Fan::Curve(curve), last)?;
            falls_without_kink(&Fan::Curve(curve), curve.shut_off())?;
            prop_assert!(curve.flow(curve.shut_off()).0.abs() < 1e-12);
            for (rise, flow) in points {
                prop_assert!((curve.flow(rise).0 - flow).abs() < 1e-14);
            }
        }

        #[test]
        fn other_fans_fall_everywhere(
            flow in 0.05..0.8f64, rise in 20.0..300.0f64, loss in 0.0005..0.01f64,
            at in -300.0..900.0f64,
        ) {
            let quadratic = QuadraticFan::through_point(flow, rise, loss).unwrap();
            falls_without_kink(&Fan::Quadratic(QuadraticFan::new(rise, 100.0, 500.0).unwrap()), at)?;
            let blower =
                ConstantFlowFan::new(0.7 * flow, 1e-4, Ceiling::Quadratic(quadratic)).unwrap();
            if (at - quadratic.shut_off()).abs() > 5.0 {
                falls_without_kink(&Fan::Quadratic(quadratic), at)?;
                falls_without_kink(&Fan::ConstantFlow(blower), at)?;
            }
        }

        #[test]
        fn measured_point_and_slope_are_met(
            flow in 0.01..0.8f64, rise in -50.0..300.0f64, loss in 0.0005..0.01f64,
        ) {
            let fan = QuadraticFan::through_point(flow, rise, loss).unwrap();
            let (got, slope) = fan.flow(rise);
            prop_assert!((got / flow - 1.0).abs() < 1e-10);
            prop_assert!((-slope / got / loss - 1.0).abs() < 1e-9);
            prop_assert!((fan.rise(got) - rise).abs() < 1e-8);
        }

        #[test]
        fn fan_laws_scale_the_whole_curve(
            points in any_points(), place in 0.0..1.0f64, speed in 0.5..1.5f64, density in 0.8..1.2f64,
        ) {
            let curve = FanCurve::new(&points).unwrap();
            let (first, last) = (points[0].0, points[points.len() - 1].0);
            let rise = first + place * (last - first);
            let scaled = curve.at(speed, density).unwrap();
            let expected = speed * curve.flow(rise).0;
            let got = scaled.flow(rise * density * speed * speed).0;
            prop_assert!((got - expected).abs() < 1e-9);
        }
    }

    #[test]
    fn fan_laws_of_a_quadratic_fan() {
        // 50 L/s at 100 Pa and 1.2 kg/m³; speed × 1.1, density 0.99: 55.0 L/s, 99.825 Pa.
        let fan = QuadraticFan::through_point(0.050, 100.0, 0.002).unwrap();
        let scaled = fan.at(1.1, 0.99 / 1.2).unwrap();
        assert!((scaled.flow(99.825).0 - 0.055).abs() < 1e-12);
    }

    #[test]
    fn a_hump_is_refused_by_name() {
        let error = FanCurve::new(&[(50.0, 0.06), (100.0, 0.05), (150.0, 0.055)]).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the flow of a fan must fall as the pressure rise (Pa, m³/s) goes up, \
             but (100, 0.05) is followed by (150, 0.055)"
        );
        assert!(FanCurve::new(&[(50.0, 0.06), (50.0, 0.05)]).is_err());
        assert!(FanCurve::new(&[(50.0, 0.06)]).is_err());
        assert!(FanCurve::new(&[(50.0, 0.06), (60.0, f64::NAN)]).is_err());
        assert!(FanCurve::new(&[(50.0, 0.06), (f64::NAN, 0.05)]).is_err());
        assert!(FanCurve::new(&[(50.0, 0.06), (60.0, -0.01)]).is_err());
    }

    #[test]
    fn a_blower_holds_its_flow_up_to_its_ceiling() {
        let ceiling = QuadraticFan::through_point(0.5, 150.0, 0.004).unwrap();
        let blower = ConstantFlowFan::new(0.4, 1e-4, Ceiling::Quadratic(ceiling)).unwrap();
        let (low, _) = blower.flow(25.0);
        assert!((low - 0.3975).abs() < 0.002, "{low}");
        let (high, _) = blower.flow(260.0);
        assert!((high - ceiling.flow(260.0).0).abs() < 0.002);
    }
}
