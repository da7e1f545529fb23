//! The laws of elements: mass flow against pressure difference.

use ducts::{FanCurve, Run};

use crate::kernels::{self, Laminar};

/// A leak and a quadratic law become laminar below this pressure difference (Pa) or below
/// [`LAMINAR_FLOW`], whichever is the smaller range; see [`Law`].
pub const LAMINAR_PRESSURE: f64 = 1e-6;

/// The volume flow (m³/s) that belongs to [`LAMINAR_PRESSURE`].
pub const LAMINAR_FLOW: f64 = 1e-6;

/// Mass flow (kg/s) of an element as a function of the pressure difference Δp (Pa) across it,
/// `Δp = p_from − p_to + drive`.
///
/// Every law is continuous and strictly rising, with a continuous slope (a leak has a bend at
/// Δp = 0 when the air on its two sides differs in density). So every network of them has exactly
/// one solution. Volume flow is Q (m³/s), density ρ (kg/m³).
///
/// A slope without bound cannot be solved for. So within [`LAMINAR_PRESSURE`] and [`LAMINAR_FLOW`]
/// of rest, a leak and a quadratic law give way to the cubic `a Δp + b Δp³` that has their value
/// and slope where it begins, much as real flow becomes laminar. Outside they are exact.
#[derive(Debug, Clone, PartialEq)]
// A fan curve holds its points in place: a box would cost an allocation at every change.
#[allow(clippy::large_enum_variant)]
pub enum Law {
    /// Opening or crack: `m = ρ C |Δp|ⁿ sgn Δp`, ρ being that of the node upstream.
    Leak {
        /// C (m³/(s·Paⁿ)), above 0.
        coefficient: f64,
        /// n, 0.5 (orifice) to 1 (laminar).
        exponent: f64,
    },
    /// Back-draught flap: a leak whose coefficient shrinks for flow from `to` to `from`.
    LeakOneWay {
        /// C (m³/(s·Paⁿ)) in the direction of the element, above 0.
        coefficient: f64,
        /// n, 0.5 to 1.
        exponent: f64,
        /// Share of C that is left in reverse, above 0 and at most 1; 0.001 is a good flap.
        reverse_fraction: f64,
    },
    /// Duct, filter or core by two coefficients: `Δp = r₁ Q + r₂ Q|Q|`, `m = ρ Q`.
    Quadratic {
        /// r₁ (Pa·s/m³), at least 0.
        linear: f64,
        /// r₂ (Pa·s²/m⁶), at least 0; r₁ and r₂ are not both 0.
        quadratic: f64,
        /// ρ (kg/m³).
        density: f64,
    },
    /// A run of duct by the law of Darcy and Weisbach with its losses, `m = ρ Q`.
    Duct {
        /// The run.
        run: Run,
        /// ρ (kg/m³).
        density: f64,
        /// Dynamic viscosity (Pa·s).
        viscosity: f64,
    },
    /// Fan from inlet (`from`) to outlet (`to`) by points of its curve, `m = ρ Q(rise)` with the rise
    /// `p_to − p_from − drive`.
    ///
    /// The curve is that at the density ρ: [`FanCurve::at`] brings it there from its reference
    /// density by the fan laws (at constant speed the volume flow stays and the pressure scales
    /// with the density).
    Fan {
        /// Q against the rise.
        curve: FanCurve,
        /// ρ (kg/m³).
        density: f64,
    },
    /// Fan from inlet (`from`) to outlet (`to`):
    /// rise `p_to − p_from = p₀ − b Q − c Q²` for Q ≥ 0 and `p₀ − b Q` for Q < 0, `m = ρ Q`.
    QuadraticFan {
        /// p₀ (Pa), the rise at rest.
        p0: f64,
        /// b (Pa·s/m³), above 0: it alone limits reverse flow.
        b: f64,
        /// c (Pa·s²/m⁶), at least 0.
        c: f64,
        /// ρ (kg/m³).
        density: f64,
    },
    /// Blower that holds its flow until it meets the curve of its highest speed: the smooth
    /// minimum of the line `Q₁ = Q_set − s·rise` and of the curve of
    /// [`QuadraticFan`](Self::QuadraticFan) for Q ≥ 0, `m = ρ Q`.
    ///
    /// `Q = ½(Q₁ + Q₂ − √((Q₁ − Q₂)² + w²))` with w = 0.001 Q_set.
    ConstantFlowFan {
        /// Q_set (m³/s), above 0.
        volume_flow: f64,
        /// s (m³/(s·Pa)), above 0: how much of the flow is lost per pascal of rise. Where
        /// nothing is known 1e-6 keeps the flow constant to a thousandth.
        droop: f64,
        /// Rise at rest at the highest speed (Pa), above 0.
        p0: f64,
        /// b of the highest speed (Pa·s/m³), above 0.
        b: f64,
        /// c of the highest speed (Pa·s²/m⁶), at least 0.
        c: f64,
        /// ρ (kg/m³).
        density: f64,
    },
    /// What is closed: `m = G Δp` with a conductance so small that its flow does not matter, but
    /// which keeps every node joined.
    Shut {
        /// G (kg/(s·Pa)), above 0; 1e-9 is a good choice.
        conductance: f64,
    },
}

/// A number that a law does not accept.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Refused {
    pub quantity: &'static str,
    pub found: f64,
    pub accepted: &'static str,
}

fn require(
    quantity: &'static str,
    found: f64,
    accepted: &'static str,
    holds: bool,
) -> Result<(), Refused> {
    if found.is_finite() && holds {
        Ok(())
    } else {
        Err(Refused {
            quantity,
            found,
            accepted,
        })
    }
}

/// Far beyond anything that is built; products of a few such numbers stay finite.
const LARGEST: f64 = 1e30;
const SMALLEST: f64 = 1e-30;

fn above_zero(quantity: &'static str, found: f64) -> Result<(), Refused> {
    let holds = (SMALLEST..=LARGEST).contains(&found);
    require(quantity, found, "a number above 0 (1e-30 to 1e30)", holds)
}

fn not_negative(quantity: &'static str, found: f64) -> Result<(), Refused> {
    let holds = (0.0..=LARGEST).contains(&found);
    require(quantity, found, "at least 0 (and at most 1e30)", holds)
}

impl Law {
    /// Whether this is a fan or blower.
    pub fn is_fan(&self) -> bool {
        matches!(
            self,
            Self::Fan { .. } | Self::QuadraticFan { .. } | Self::ConstantFlowFan { .. }
        )
    }

    pub(crate) fn check(&self) -> Result<(), Refused> {
        const EXPONENT: &str = "0.5 (orifice) to 1 (laminar)";
        match *self {
            Self::Leak {
                coefficient,
                exponent,
            } => {
                above_zero("leak coefficient [m³/(s·Paⁿ)]", coefficient)?;
                let holds = (0.5..=1.0).contains(&exponent);
                require("leak exponent", exponent, EXPONENT, holds)
            }
            Self::LeakOneWay {
                coefficient,
                exponent,
                reverse_fraction,
            } => {
                above_zero("leak coefficient [m³/(s·Paⁿ)]", coefficient)?;
                let holds = (0.5..=1.0).contains(&exponent);
                require("leak exponent", exponent, EXPONENT, holds)?;
                let holds = reverse_fraction > 0.0 && reverse_fraction <= 1.0;
                require(
                    "reverse fraction",
                    reverse_fraction,
                    "above 0 and at most 1",
                    holds,
                )
            }
            Self::Quadratic {
                linear,
                quadratic,
                density,
            } => {
                not_negative("linear coefficient [Pa·s/m³]", linear)?;
                not_negative("quadratic coefficient [Pa·s²/m⁶]", quadratic)?;
                let accepted = "above 0 in at least one of the two coefficients";
                let holds = linear + quadratic > 0.0;
                require(
                    "linear plus quadratic coefficient",
                    linear + quadratic,
                    accepted,
                    holds,
                )?;
                above_zero("density [kg/m³]", density)
            }
            Self::Duct {
                density, viscosity, ..
            } => {
                above_zero("density [kg/m³]", density)?;
                above_zero("dynamic viscosity [Pa·s]", viscosity)
            }
            Self::Fan { density, .. } => above_zero("density [kg/m³]", density),
            Self::QuadraticFan { p0, b, c, density } => {
                require("fan rise at rest [Pa]", p0, "a finite number", true)?;
                check_fan(b, c)?;
                above_zero("density [kg/m³]", density)
            }
            Self::ConstantFlowFan {
                volume_flow,
                droop,
                p0,
                b,
                c,
                density,
            } => {
                above_zero("constant volume flow [m³/s]", volume_flow)?;
                above_zero("droop of the flow [m³/(s·Pa)]", droop)?;
                above_zero("fan rise at rest [Pa]", p0)?;
                check_fan(b, c)?;
                above_zero("density [kg/m³]", density)
            }
            Self::Shut { conductance } => above_zero("conductance [kg/(s·Pa)]", conductance),
        }
    }

    /// Mass flow (kg/s) and its slope (kg/(s·Pa)) at the pressure difference Δp (Pa), with the
    /// densities (kg/m³) of the nodes at the two ends.
    ///
    /// ```
    /// let orifice = airflow::Law::Leak { coefficient: 0.01, exponent: 0.5 };
    /// let (mass_flow, slope) = orifice.mass_flow(16.0, 1.2, 1.3);
    /// assert!((mass_flow - 1.2 * 0.01 * 4.0).abs() < 1e-15);
    /// assert!((slope - 0.5 * mass_flow / 16.0).abs() < 1e-15);
    /// ```
    pub fn mass_flow(
        &self,
        pressure_difference: f64,
        density_from: f64,
        density_to: f64,
    ) -> (f64, f64) {
        let dp = pressure_difference;
        match *self {
            Self::Leak { .. } | Self::LeakOneWay { .. } => {
                let leak = self.leak(density_from, density_to);
                kernels::leak(dp, leak.forward, leak.reverse, leak.exponent, leak.laminar)
            }
            Self::Duct {
                run,
                density,
                viscosity,
            } => {
                let (flow, slope) = run.volume_flow(dp, density, viscosity);
                (density * flow, density * slope)
            }
            Self::Fan { ref curve, density } => {
                let (flow, slope) = curve.flow(-dp);
                (density * flow, -density * slope)
            }
            Self::ConstantFlowFan {
                volume_flow,
                droop,
                p0,
                b,
                c,
                density,
            } => {
                let rise = -dp;
                let line = volume_flow - droop * rise;
                let curve = Resistance::fan(p0, b, c, 1.0);
                let (curve, curve_slope) = curve.mass_flow(dp);
                let width = 1e-3 * volume_flow;
                let apart = line - curve;
                let root = (apart * apart + width * width).sqrt();
                let flow = 0.5 * (line + curve - root);
                // Shares of the line and of the curve in the slope; both lie between 0 and 1.
                let share = 0.5 * (1.0 - apart / root);
                let slope = share * droop + (1.0 - share) * curve_slope;
                (density * flow, density * slope)
            }
            Self::Quadratic { .. } | Self::QuadraticFan { .. } | Self::Shut { .. } => {
                self.resistance().mass_flow(dp)
            }
        }
    }

    /// The kernel that computes this law.
    pub(crate) fn class(&self) -> Class {
        match self {
            Self::Leak { .. } | Self::LeakOneWay { .. } => Class::Leak,
            Self::Quadratic { .. } | Self::QuadraticFan { .. } | Self::Shut { .. } => {
                Class::Resistance
            }
            Self::Duct { .. } | Self::Fan { .. } | Self::ConstantFlowFan { .. } => Class::Other,
        }
    }

    /// Whether the kernel of a class can compute this law.
    pub(crate) fn fits(&self, class: Class) -> bool {
        class == Class::Other || class == self.class() || matches!(self, Self::Shut { .. })
    }

    /// Numbers for the leak kernel; a shut element is a leak with exponent 1.
    pub(crate) fn leak(&self, density_from: f64, density_to: f64) -> Leak {
        match *self {
            Self::Leak {
                coefficient,
                exponent,
            } => Leak::new(coefficient, exponent, density_from, density_to),
            Self::LeakOneWay {
                coefficient,
                exponent,
                reverse_fraction,
            } => {
                let density_to = density_to * reverse_fraction;
                Leak::new(coefficient, exponent, density_from, density_to)
            }
            Self::Shut { conductance } => Leak::new(conductance, 1.0, 1.0, 1.0),
            _ => Leak::NOTHING,
        }
    }

    /// Numbers for the resistance kernel.
    pub(crate) fn resistance(&self) -> Resistance {
        match *self {
            Self::Quadratic {
                linear,
                quadratic,
                density,
            } => {
                let at_flow = (linear + quadratic * LAMINAR_FLOW) * LAMINAR_FLOW;
                Resistance {
                    rise: 0.0,
                    linear,
                    forward: 4.0 * quadratic,
                    reverse: 4.0 * quadratic,
                    density,
                    laminar: Laminar::below(at_flow.clamp(SMALLEST, LAMINAR_PRESSURE)),
                }
            }
            Self::QuadraticFan { p0, b, c, density } => Resistance::fan(p0, b, c, density),
            Self::Shut { conductance } => Resistance {
                linear: 1.0 / conductance,
                density: 1.0,
                ..Resistance::NOTHING
            },
            _ => Resistance::NOTHING,
        }
    }

    /// A straight line through two points of the law, `m = m₀ + G Δp`, from which a solve
    /// without a better start begins.
    pub(crate) fn line(&self, density_from: f64, density_to: f64) -> (f64, f64) {
        let (a, b) = match *self {
            Self::Leak { .. } | Self::LeakOneWay { .. } => (-4.0, 4.0),
            Self::Quadratic { .. } | Self::Duct { .. } | Self::Shut { .. } => (-30.0, 30.0),
            Self::Fan { ref curve, .. } => {
                let first = curve.points().next().map_or(0.0, |(rise, _)| rise);
                (-curve.shut_off(), -first)
            }
            Self::QuadraticFan { p0, .. } => (-p0.abs(), -0.5 * p0.abs()),
            Self::ConstantFlowFan { p0, .. } => (-0.5 * p0, 0.0),
        };
        let at_a = self.mass_flow(a, density_from, density_to).0;
        let at_b = self.mass_flow(b, density_from, density_to).0;
        let slope = if b > a {
            (at_b - at_a) / (b - a)
        } else {
            self.mass_flow(a, density_from, density_to).1
        };
        (at_a - slope * a, slope)
    }
}

fn check_fan(b: f64, c: f64) -> Result<(), Refused> {
    require(
        "linear coefficient b of the fan [Pa·s/m³]",
        b,
        "above 0: the rise must fall with the flow, and b alone limits reverse flow",
        b > 0.0,
    )?;
    require(
        "quadratic coefficient c of the fan [Pa·s²/m⁶]",
        c,
        "at least 0: the rise must fall with the flow",
        c >= 0.0,
    )
}

/// Which kernel computes an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Class {
    Leak,
    Resistance,
    Other,
}

/// Numbers of the leak kernel: `m = c |Δp|ⁿ sgn Δp`, c by the sign of Δp.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Leak {
    pub forward: f64,
    pub reverse: f64,
    pub exponent: f64,
    pub laminar: Laminar,
}

impl Leak {
    pub const NOTHING: Self = Self {
        forward: 0.0,
        reverse: 0.0,
        exponent: 1.0,
        laminar: Laminar::below(LAMINAR_PRESSURE),
    };

    fn new(coefficient: f64, exponent: f64, density_from: f64, density_to: f64) -> Self {
        let at_flow = (LAMINAR_FLOW / coefficient).powf(1.0 / exponent);
        Self {
            forward: density_from * coefficient,
            reverse: density_to * coefficient,
            exponent,
            laminar: Laminar::below(at_flow.clamp(SMALLEST, LAMINAR_PRESSURE)),
        }
    }
}

/// Numbers of the resistance kernel: `Δp + rise = r₁ Q + r₂ Q|Q|`, `4 r₂` by the sign.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Resistance {
    pub rise: f64,
    pub linear: f64,
    pub forward: f64,
    pub reverse: f64,
    pub density: f64,
    pub laminar: Laminar,
}

impl Resistance {
    pub const NOTHING: Self = Self {
        rise: 0.0,
        linear: 1.0,
        forward: 0.0,
        reverse: 0.0,
        density: 0.0,
        laminar: Laminar::below(LAMINAR_PRESSURE),
    };

    /// A fan; its slope at the free delivery is finite already.
    fn fan(p0: f64, b: f64, c: f64, density: f64) -> Self {
        Self {
            rise: p0,
            linear: b,
            forward: 4.0 * c,
            reverse: 0.0,
            density,
            laminar: Laminar::below(LAMINAR_PRESSURE * LAMINAR_PRESSURE),
        }
    }

    fn mass_flow(&self, dp: f64) -> (f64, f64) {
        kernels::resistance(
            dp + self.rise,
            self.linear,
            self.forward,
            self.reverse,
            self.density,
            self.laminar,
        )
    }
}
