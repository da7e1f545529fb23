//! What to measure and where: small drawings beside the questions of a survey.
//!
//! Each is a sketch of a few lines on a sheet of 360 by 230, an SVG element to be put into a page.
//! It has no colours of its own: the page gives its classes their ink, so it follows the theme.
//! `cut` is what is cut open, `thin` what is seen, `faint` what is behind, `dim` a dimension, `act`
//! what is to be measured. The numbers of a real house never stand on it.

use crate::svg::{Svg, escape, number};
use crate::text::width;

const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 230.0;
/// Font size of all words.
const SIZE: f64 = 13.0;

/// A sketch while it is drawn.
struct Sketch {
    svg: Svg,
    title: &'static str,
}

impl Sketch {
    fn new(title: &'static str) -> Self {
        Self {
            svg: Svg::default(),
            title,
        }
    }

    fn line(&mut self, class: &str, points: &[[f64; 2]]) -> &mut Self {
        self.svg.path(&[points.to_vec()], false, class, "");
        self
    }

    fn shape(&mut self, class: &str, points: &[[f64; 2]]) -> &mut Self {
        self.svg.path(&[points.to_vec()], true, class, "");
        self
    }

    fn rectangle(&mut self, class: &str, bounds: [f64; 4]) -> &mut Self {
        self.svg.rectangle(bounds, class);
        self
    }

    fn circle(&mut self, class: &str, centre: [f64; 2], radius: f64) -> &mut Self {
        self.svg.circle(centre, radius, class);
        self
    }

    /// Words that begin at a point.
    fn words(&mut self, at: [f64; 2], words: &str) -> &mut Self {
        self.svg.text(at, "words", words);
        self
    }

    /// Words around a point.
    fn centred(&mut self, [x, y]: [f64; 2], class: &str, words: &str) -> &mut Self {
        self.svg
            .text([x - 0.5 * SIZE * width(words) * 0.88, y], class, words);
        self
    }

    /// What is asked, with a line to it.
    fn asked(&mut self, at: [f64; 2], words: &str, to: [f64; 2]) -> &mut Self {
        let reach = SIZE * width(words) * 0.88;
        let from = [
            to[0].clamp(at[0], at[0] + reach),
            at[1] + if to[1] > at[1] { 5.0 } else { -13.0 },
        ];
        self.line("act", &[from, to]);
        self.circle("point", to, 3.5);
        self.svg.text(at, "asked", words);
        self
    }

    /// A dimension between two points, level or upright, with what it is.
    fn dimension(&mut self, from: [f64; 2], to: [f64; 2], words: &str) -> &mut Self {
        self.line("act", &[from, to]);
        let tick = 4.0;
        for [x, y] in [from, to] {
            self.line("act", &[[x - tick, y + tick], [x + tick, y - tick]]);
        }
        let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
        if (from[1] - to[1]).abs() < (from[0] - to[0]).abs() {
            self.centred([middle[0], middle[1] - 6.0], "asked", words)
        } else {
            self.svg
                .text([middle[0] + 8.0, middle[1] + 5.0], "asked", words);
            self
        }
    }

    /// An arrow of air.
    fn air(&mut self, from: [f64; 2], to: [f64; 2]) -> &mut Self {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = dx.hypot(dy).max(1.0);
        let (ux, uy) = (dx / length, dy / length);
        let back = [to[0] - 9.0 * ux, to[1] - 9.0 * uy];
        self.line("air", &[from, back]);
        self.shape(
            "head",
            &[
                to,
                [back[0] - 4.0 * uy, back[1] + 4.0 * ux],
                [back[0] + 4.0 * uy, back[1] - 4.0 * ux],
            ],
        )
    }

    /// Ground with its hatching.
    fn ground(&mut self, from: f64, to: f64, level: f64) -> &mut Self {
        self.line("cut", &[[from, level], [to, level]]);
        let mut x = from + 6.0;
        while x < to {
            self.line("faint", &[[x, level + 2.0], [x - 7.0, level + 9.0]]);
            x += 14.0;
        }
        self
    }

    /// A fan in its housing.
    fn fan(&mut self, [x, y]: [f64; 2], radius: f64) -> &mut Self {
        self.circle("thin", [x, y], radius);
        for turn in 0..6 {
            let angle = f64::from(turn) * std::f64::consts::FRAC_PI_3;
            let (sin, cos) = angle.sin_cos();
            let (sin2, cos2) = (angle + 0.5).sin_cos();
            self.line(
                "thin",
                &[
                    [x + 0.3 * radius * cos, y + 0.3 * radius * sin],
                    [x + 0.9 * radius * cos2, y + 0.9 * radius * sin2],
                ],
            );
        }
        self.circle("thin", [x, y], 0.25 * radius)
    }

    /// A manometer with two hoses.
    fn manometer(&mut self, [x, y]: [f64; 2], shown: &str) -> &mut Self {
        self.rectangle("thin", [x, y, 58.0, 34.0]);
        self.centred([x + 29.0, y + 22.0], "words", shown);
        self
    }

    fn finish(&mut self) -> String {
        let title = escape(self.title);
        let body = std::mem::take(&mut self.svg).finish();
        format!(
            "<svg class=\"sketch\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{title}\">\n{body}</svg>\n",
            number(WIDTH),
            number(HEIGHT)
        )
    }
}

/// The air handler cut open, upright: return from below left, filter, blower, supply on top.
fn air_handler(sketch: &mut Sketch) {
    sketch
        // Return drop and its turn into the cabinet.
        .line("cut", &[[60.0, 20.0], [60.0, 205.0], [190.0, 205.0]])
        .line("cut", &[[105.0, 20.0], [105.0, 150.0], [130.0, 150.0]])
        // Filter slot.
        .rectangle("filter", [126.0, 150.0, 12.0, 55.0])
        // Cabinet and supply plenum.
        .line("cut", &[[138.0, 150.0], [190.0, 150.0], [190.0, 20.0]])
        .line(
            "cut",
            &[[190.0, 205.0], [280.0, 205.0], [280.0, 70.0], [350.0, 70.0]],
        )
        .line("cut", &[[190.0, 20.0], [350.0, 20.0]])
        .fan([235.0, 165.0], 30.0)
        // The heat exchanger or coil.
        .line("thin", &[[194.0, 122.0], [235.0, 96.0], [276.0, 122.0]])
        .air([82.0, 40.0], [82.0, 90.0])
        .air([292.0, 45.0], [340.0, 45.0]);
}

/// A drawing of what to measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sheet {
    /// How high the place lies.
    Altitude,
    /// The conditioned floor area, basement included.
    FloorArea,
    /// Storeys above grade and the height from floor to ceiling.
    Heights,
    /// Bedrooms, counted.
    Bedrooms,
    /// Outdoor temperatures of design.
    Weather,
    /// The blower door in the front door.
    BlowerDoor,
    /// Chimney and vents of what burns.
    Appliances,
    /// Where the motor of the blower says what it is.
    BlowerMotor,
    /// The flow plate in the place of the filter.
    BlowerFlow,
    /// The hole between filter and blower.
    ReturnPressure,
    /// The hole in the supply plenum.
    SupplyPressure,
    /// Before and behind the filter.
    Filter,
    /// The thermostat that calls another mode.
    SecondMode,
    /// Length of the return trunk and what counts as its size; a joist bay too.
    ReturnTrunk,
    /// Length of the supply trunk and its size.
    SupplyTrunk,
    /// Distance of a tap from the blower along the duct.
    Tap,
    /// A second tap, further along or on the other side.
    SecondTap,
    /// A grille of its own in a room.
    Grille,
    /// The air around the unit through the year.
    Spot,
    /// Trap, drain, outlet and what carries the unit.
    Drain,
    /// The wall from outdoors with its left corner.
    Wall,
    /// The centre of a hood: along and above the ground.
    Hood,
    /// A second hood and the distance between the two.
    SecondHood,
    /// Snow at the wall.
    Snow,
    /// The runs from the unit to taps and hoods.
    Runs,
    /// The plate of the unit.
    Unit,
}

impl Sheet {
    /// All of them.
    pub const ALL: [Self; 26] = [
        Self::Altitude,
        Self::FloorArea,
        Self::Heights,
        Self::Bedrooms,
        Self::Weather,
        Self::BlowerDoor,
        Self::Appliances,
        Self::BlowerMotor,
        Self::BlowerFlow,
        Self::ReturnPressure,
        Self::SupplyPressure,
        Self::Filter,
        Self::SecondMode,
        Self::ReturnTrunk,
        Self::SupplyTrunk,
        Self::Tap,
        Self::SecondTap,
        Self::Grille,
        Self::Spot,
        Self::Drain,
        Self::Wall,
        Self::Hood,
        Self::SecondHood,
        Self::Snow,
        Self::Runs,
        Self::Unit,
    ];

    /// The drawing as an SVG element.
    pub fn draw(self) -> String {
        match self {
            Self::Altitude => altitude(),
            Self::FloorArea => floor_area(),
            Self::Heights => heights(),
            Self::Bedrooms => bedrooms(),
            Self::Weather => weather(),
            Self::BlowerDoor => blower_door(),
            Self::Appliances => appliances(),
            Self::BlowerMotor => blower_motor(),
            Self::BlowerFlow => blower_flow(),
            Self::ReturnPressure => return_pressure(),
            Self::SupplyPressure => supply_pressure(),
            Self::Filter => filter(),
            Self::SecondMode => second_mode(),
            Self::ReturnTrunk => return_trunk(),
            Self::SupplyTrunk => supply_trunk(),
            Self::Tap => tap(),
            Self::SecondTap => second_tap(),
            Self::Grille => grille(),
            Self::Spot => spot(),
            Self::Drain => drain(),
            Self::Wall => wall(),
            Self::Hood => hood(),
            Self::SecondHood => second_hood(),
            Self::Snow => snow(),
            Self::Runs => runs(),
            Self::Unit => unit(),
        }
    }
}

/// A small house: left, ground, width, height of the wall.
fn small_house(sketch: &mut Sketch, [left, ground, width, height]: [f64; 4]) {
    let (right, eaves) = (left + width, ground - height);
    sketch
        .line(
            "cut",
            &[
                [left, ground],
                [left, eaves],
                [left + 0.5 * width, eaves - 0.38 * width],
            ],
        )
        .line(
            "cut",
            &[
                [left + 0.5 * width, eaves - 0.38 * width],
                [right, eaves],
                [right, ground],
            ],
        )
        .line("thin", &[[left, eaves], [right, eaves]]);
}

fn altitude() -> String {
    let mut sketch = Sketch::new("A house on a hill: its height above the level of the sea");
    sketch
        .line("faint", &[[10.0, 200.0], [350.0, 200.0]])
        .line(
            "cut",
            &[
                [10.0, 200.0],
                [70.0, 190.0],
                [150.0, 120.0],
                [250.0, 120.0],
                [350.0, 150.0],
            ],
        )
        .line(
            "faint",
            &[
                [10.0, 206.0],
                [22.0, 203.0],
                [34.0, 206.0],
                [46.0, 203.0],
                [58.0, 206.0],
            ],
        );
    small_house(&mut sketch, [180.0, 120.0, 50.0, 34.0]);
    sketch
        .dimension([120.0, 200.0], [120.0, 120.0], "")
        .line("faint", &[[112.0, 120.0], [150.0, 120.0]])
        .words([10.0, 222.0], "level of the sea")
        .svg
        .text([14.0, 150.0], "asked", "altitude");
    sketch.finish()
}

fn floor_area() -> String {
    let mut sketch = Sketch::new(
        "The floors that are heated or cooled count, a finished basement too; garage and attic do not",
    );
    let floors = [
        (60.0, "upper floor"),
        (105.0, "ground floor"),
        (150.0, "finished basement"),
    ];
    for (y, words) in floors {
        sketch
            .rectangle("area", [60.0, y, 150.0, 40.0])
            .centred([135.0, y + 25.0], "words", words);
    }
    sketch
        .line(
            "cut",
            &[[60.0, 60.0], [60.0, 192.0], [210.0, 192.0], [210.0, 60.0]],
        )
        .line("cut", &[[50.0, 62.0], [135.0, 14.0], [220.0, 62.0]])
        .centred([135.0, 46.0], "quiet", "attic")
        .ground(10.0, 60.0, 148.0)
        .ground(210.0, 350.0, 148.0)
        .line(
            "thin",
            &[
                [214.0, 148.0],
                [214.0, 105.0],
                [330.0, 105.0],
                [330.0, 148.0],
            ],
        )
        .centred([272.0, 132.0], "quiet", "garage")
        .words([232.0, 190.0], "count what is")
        .words([232.0, 207.0], "shaded");
    sketch.finish()
}

fn heights() -> String {
    let mut sketch =
        Sketch::new("Storeys are counted above the ground; the height runs from floor to ceiling");
    small_house(&mut sketch, [70.0, 190.0, 150.0, 110.0]);
    sketch
        .line("cut", &[[70.0, 135.0], [220.0, 135.0]])
        .ground(10.0, 350.0, 190.0)
        .centred([145.0, 114.0], "words", "storey 2")
        .centred([145.0, 168.0], "words", "storey 1")
        .dimension([240.0, 186.0], [240.0, 139.0], "floor to")
        .svg
        .text([248.0, 184.0], "asked", "ceiling");
    sketch.finish()
}

fn bedrooms() -> String {
    let mut sketch = Sketch::new("A plan of the house: each room meant for sleeping counts");
    sketch
        .rectangle("cut", [50.0, 25.0, 260.0, 175.0])
        .line("cut", &[[50.0, 105.0], [130.0, 105.0]])
        .line("cut", &[[150.0, 105.0], [220.0, 105.0]])
        .line("cut", &[[240.0, 105.0], [310.0, 105.0]])
        .line("cut", &[[140.0, 25.0], [140.0, 105.0]])
        .line("cut", &[[230.0, 25.0], [230.0, 105.0]]);
    for (x, number) in [(95.0, "1"), (185.0, "2"), (270.0, "3")] {
        sketch
            .rectangle("thin", [x - 18.0, 32.0, 36.0, 44.0])
            .line("thin", &[[x - 18.0, 46.0], [x + 18.0, 46.0]])
            .centred([x, 68.0], "asked", number);
    }
    sketch.centred([180.0, 155.0], "words", "living, kitchen: do not count");
    sketch.finish()
}

fn weather() -> String {
    let mut sketch = Sketch::new(
        "The coldest and the warmest outdoor air for which heating and cooling are laid out",
    );
    sketch
        .line("thin", &[[40.0, 200.0], [340.0, 200.0]])
        .line("thin", &[[40.0, 20.0], [40.0, 200.0]]);
    let curve: Vec<[f64; 2]> = (0..=60)
        .map(|step| {
            let part = f64::from(step) / 60.0;
            let season = (part * std::f64::consts::TAU).cos();
            [40.0 + 300.0 * part, 110.0 + 60.0 * season]
        })
        .collect();
    sketch
        .line("thin", &curve)
        .line("dim", &[[40.0, 184.0], [340.0, 184.0]])
        .line("dim", &[[40.0, 38.0], [340.0, 38.0]])
        .asked([140.0, 172.0], "winter design", [60.0, 184.0])
        .asked([52.0, 60.0], "summer design", [150.0, 38.0])
        .centred([190.0, 220.0], "quiet", "a year");
    sketch.finish()
}

fn blower_door() -> String {
    let mut sketch = Sketch::new(
        "A fan in the front door draws the house to 50 pascals below outdoors; its flow is read",
    );
    sketch
        .line("cut", &[[30.0, 20.0], [150.0, 20.0]])
        .line("cut", &[[150.0, 20.0], [150.0, 45.0]])
        .line("cut", &[[150.0, 190.0], [150.0, 200.0]])
        .rectangle("cloth", [144.0, 45.0, 12.0, 145.0])
        .ground(150.0, 350.0, 200.0)
        .line("cut", &[[20.0, 200.0], [150.0, 200.0]])
        .fan([150.0, 155.0], 28.0)
        .air([60.0, 155.0], [112.0, 155.0])
        .air([188.0, 155.0], [240.0, 155.0])
        .manometer([56.0, 70.0], "−50 Pa")
        .line("hose", &[[114.0, 80.0], [150.0, 80.0], [190.0, 80.0]])
        .words([40.0, 44.0], "indoors")
        .words([200.0, 44.0], "outdoors")
        .asked([215.0, 118.0], "flow of the fan", [174.0, 146.0])
        .words([196.0, 84.0], "open hose");
    sketch.finish()
}

fn appliances() -> String {
    let mut sketch = Sketch::new(
        "What burns: a water heater on a chimney with a draft hood is drawn down first",
    );
    sketch
        .line(
            "cut",
            &[[20.0, 20.0], [20.0, 200.0], [340.0, 200.0], [340.0, 20.0]],
        )
        .rectangle("thin", [70.0, 110.0, 60.0, 90.0])
        .line(
            "thin",
            &[[80.0, 110.0], [92.0, 92.0], [108.0, 92.0], [120.0, 110.0]],
        )
        .line("thin", &[[92.0, 84.0], [92.0, 20.0]])
        .line("thin", &[[108.0, 84.0], [108.0, 20.0]])
        .centred([100.0, 158.0], "words", "heater")
        .asked([132.0, 60.0], "open hood: natural draft", [112.0, 90.0])
        .rectangle("thin", [230.0, 120.0, 60.0, 80.0])
        .line("thin", &[[290.0, 140.0], [340.0, 140.0]])
        .line("thin", &[[290.0, 150.0], [340.0, 150.0]])
        .centred([260.0, 168.0], "words", "furnace")
        .asked([190.0, 104.0], "pipe through the wall", [318.0, 140.0]);
    sketch.finish()
}

fn blower_motor() -> String {
    let mut sketch =
        Sketch::new("The blower behind its door; its motor has a plate that says how it runs");
    air_handler(&mut sketch);
    sketch.asked(
        [70.0, 226.0],
        "the plate on the motor of the blower",
        [235.0, 165.0],
    );
    sketch.finish()
}

fn blower_flow() -> String {
    let mut sketch = Sketch::new(
        "A flow plate in the place of the filter, with its two hoses; all doors of the cabinet shut",
    );
    air_handler(&mut sketch);
    sketch
        .line("plate", &[[132.0, 148.0], [132.0, 207.0]])
        .manometer([4.0, 96.0], "flow")
        .line("hose", &[[40.0, 130.0], [40.0, 170.0], [130.0, 170.0]])
        .line("hose", &[[24.0, 130.0], [24.0, 186.0], [130.0, 186.0]])
        .asked(
            [84.0, 226.0],
            "flow plate in the filter slot",
            [132.0, 205.0],
        );
    sketch.finish()
}

fn return_pressure() -> String {
    let mut sketch = Sketch::new(
        "The hole for the return pressure: behind the filter, before the blower, the tip into the flow",
    );
    air_handler(&mut sketch);
    sketch
        .line("probe", &[[165.0, 120.0], [165.0, 176.0], [155.0, 176.0]])
        .line("hose", &[[165.0, 120.0], [150.0, 100.0], [124.0, 100.0]])
        .manometer([112.0, 66.0], "− Pa")
        .air([66.0, 178.0], [118.0, 178.0])
        .asked(
            [40.0, 226.0],
            "hole between filter and blower; tip into the flow",
            [157.0, 177.0],
        );
    sketch.finish()
}

fn supply_pressure() -> String {
    let mut sketch = Sketch::new(
        "The hole for the supply pressure: in the plenum before the first branch, the tip into the flow",
    );
    air_handler(&mut sketch);
    sketch
        .air([262.0, 92.0], [262.0, 52.0])
        .line("probe", &[[190.0, 60.0], [226.0, 60.0], [226.0, 70.0]])
        .line("hose", &[[190.0, 60.0], [164.0, 60.0]])
        .manometer([112.0, 44.0], "+ Pa")
        .circle("point", [226.0, 69.0], 3.5)
        .centred(
            [170.0, 226.0],
            "asked",
            "hole in the plenum, before the first branch",
        );
    sketch.finish()
}

fn filter() -> String {
    let mut sketch =
        Sketch::new("The pressure before and behind the filter, both hoses on one manometer");
    air_handler(&mut sketch);
    sketch
        .line("probe", &[[116.0, 138.0], [116.0, 178.0]])
        .line("probe", &[[152.0, 138.0], [152.0, 178.0]])
        .line("hose", &[[116.0, 138.0], [116.0, 100.0]])
        .line("hose", &[[152.0, 138.0], [152.0, 100.0]])
        .manometer([110.0, 66.0], "filter")
        .circle("point", [116.0, 178.0], 3.5)
        .circle("point", [152.0, 178.0], 3.5)
        .centred([150.0, 226.0], "asked", "before and behind the filter");
    sketch.finish()
}

fn second_mode() -> String {
    let mut sketch =
        Sketch::new("The thermostat calls cooling, then both plenum pressures are read again");
    air_handler(&mut sketch);
    sketch
        .rectangle("thin", [4.0, 100.0, 50.0, 34.0])
        .centred([29.0, 122.0], "words", "cool")
        .circle("point", [165.0, 176.0], 3.5)
        .circle("point", [226.0, 62.0], 3.5)
        .asked(
            [12.0, 226.0],
            "call it at the thermostat, wait, read both holes again",
            [165.0, 176.0],
        );
    sketch.finish()
}

/// A trunk in plan with its branches, the blower at the left.
fn trunk(sketch: &mut Sketch) {
    sketch
        .rectangle("cut", [16.0, 60.0, 50.0, 60.0])
        .fan([41.0, 90.0], 18.0)
        .line(
            "cut",
            &[[66.0, 72.0], [330.0, 72.0], [330.0, 108.0], [66.0, 108.0]],
        );
    for x in [130.0, 200.0, 270.0] {
        sketch
            .line("thin", &[[x, 72.0], [x, 40.0]])
            .line("thin", &[[x + 12.0, 72.0], [x + 12.0, 40.0]])
            .line("thin", &[[x, 108.0], [x, 140.0]])
            .line("thin", &[[x + 12.0, 108.0], [x + 12.0, 140.0]]);
    }
}

/// A duct cut across, with its two sizes.
fn across(sketch: &mut Sketch, x: f64) {
    sketch
        .rectangle("cut", [x, 170.0, 64.0, 30.0])
        .dimension([x, 162.0], [x + 64.0, 162.0], "")
        .dimension([x + 74.0, 200.0], [x + 74.0, 170.0], "inside");
}

fn return_trunk() -> String {
    let mut sketch = Sketch::new(
        "The return trunk from the blower to its far end, its inner size, and a joist bay used as a duct",
    );
    trunk(&mut sketch);
    sketch.air([190.0, 90.0], [100.0, 90.0]);
    sketch.dimension([66.0, 28.0], [330.0, 28.0], "length, blower to far end");
    across(&mut sketch, 40.0);
    sketch
        .rectangle("cut", [210.0, 162.0, 8.0, 46.0])
        .rectangle("cut", [300.0, 162.0, 8.0, 46.0])
        .line("thin", &[[205.0, 162.0], [312.0, 162.0]])
        .line("thin", &[[205.0, 208.0], [312.0, 208.0]])
        .dimension([218.0, 190.0], [300.0, 190.0], "joist bay")
        .centred([72.0, 222.0], "quiet", "cut across")
        .centred([258.0, 224.0], "quiet", "between the joists");
    sketch.finish()
}

fn supply_trunk() -> String {
    let mut sketch =
        Sketch::new("The supply trunk from the blower to its far end, and its inner size");
    trunk(&mut sketch);
    sketch.air([90.0, 90.0], [180.0, 90.0]);
    sketch.dimension([66.0, 28.0], [330.0, 28.0], "length, blower to far end");
    across(&mut sketch, 110.0);
    sketch.centred([142.0, 222.0], "quiet", "cut across, without insulation");
    sketch.finish()
}

fn tap() -> String {
    let mut sketch =
        Sketch::new("The distance of the tap from the blower, along the middle of the duct");
    trunk(&mut sketch);
    sketch
        .air([290.0, 90.0], [220.0, 90.0])
        .circle("point", [240.0, 90.0], 4.5)
        .line("act", &[[240.0, 94.0], [240.0, 176.0]])
        .dimension([66.0, 176.0], [240.0, 176.0], "from the blower")
        .words([206.0, 204.0], "tap here: a straight,")
        .words([206.0, 220.0], "free piece of duct");
    sketch.finish()
}

fn second_tap() -> String {
    let mut sketch =
        Sketch::new("Two taps on one duct, far from each other; each is measured from the blower");
    trunk(&mut sketch);
    sketch
        .circle("point", [110.0, 90.0], 4.5)
        .circle("point", [300.0, 90.0], 4.5)
        .line("act", &[[110.0, 94.0], [110.0, 160.0]])
        .line("act", &[[300.0, 94.0], [300.0, 192.0]])
        .dimension([66.0, 160.0], [110.0, 160.0], "")
        .dimension([66.0, 192.0], [300.0, 192.0], "from the blower, each")
        .words([150.0, 218.0], "the farther apart the better");
    sketch.finish()
}

fn grille() -> String {
    let mut sketch = Sketch::new(
        "A grille of the ventilator's own, for instance in the ceiling of the bathroom",
    );
    sketch
        .line(
            "cut",
            &[
                [60.0, 190.0],
                [60.0, 60.0],
                [300.0, 60.0],
                [300.0, 190.0],
                [60.0, 190.0],
            ],
        )
        .line("cut", &[[150.0, 60.0], [150.0, 20.0]])
        .line("cut", &[[180.0, 60.0], [180.0, 20.0]]);
    for step in 0..5 {
        let x = 148.0 + 8.0 * f64::from(step);
        sketch.line("thin", &[[x, 56.0], [x, 64.0]]);
    }
    sketch
        .air([165.0, 110.0], [165.0, 72.0])
        .line(
            "thin",
            &[
                [220.0, 190.0],
                [226.0, 160.0],
                [280.0, 160.0],
                [286.0, 190.0],
            ],
        )
        .centred([110.0, 150.0], "words", "bath")
        .asked([196.0, 100.0], "extract grille", [180.0, 62.0]);
    sketch.finish()
}

fn spot() -> String {
    let mut sketch = Sketch::new(
        "The place for the unit with the coldest and the warmest air around it through the year",
    );
    sketch
        .line("cut", &[[20.0, 20.0], [340.0, 20.0]])
        .line("cut", &[[20.0, 200.0], [340.0, 200.0]])
        .line("thin", &[[110.0, 20.0], [110.0, 60.0]])
        .line("thin", &[[210.0, 20.0], [210.0, 60.0]])
        .rectangle("cut", [95.0, 60.0, 130.0, 70.0])
        .line(
            "thin",
            &[
                [140.0, 95.0],
                [160.0, 75.0],
                [180.0, 95.0],
                [160.0, 115.0],
                [140.0, 95.0],
            ],
        )
        .rectangle("thin", [270.0, 70.0, 12.0, 70.0])
        .circle("thin", [276.0, 148.0], 9.0)
        .asked([228.0, 180.0], "coldest, warmest", [276.0, 132.0])
        .words([96.0, 152.0], "the unit hangs here");
    sketch.finish()
}

fn drain() -> String {
    let mut sketch = Sketch::new(
        "A drain with a trap under the unit, an outlet beside it, and something that carries it without a bedroom behind",
    );
    sketch
        .line("cut", &[[20.0, 20.0], [340.0, 20.0]])
        .line("cut", &[[20.0, 205.0], [340.0, 205.0]])
        .line("act", &[[110.0, 20.0], [110.0, 50.0]])
        .line("act", &[[210.0, 20.0], [210.0, 50.0]])
        .rectangle("cut", [95.0, 50.0, 130.0, 60.0])
        .line(
            "hose",
            &[
                [150.0, 110.0],
                [150.0, 140.0],
                [158.0, 150.0],
                [168.0, 140.0],
                [168.0, 132.0],
                [300.0, 150.0],
                [300.0, 196.0],
            ],
        )
        .line(
            "thin",
            &[
                [292.0, 205.0],
                [292.0, 194.0],
                [308.0, 194.0],
                [308.0, 205.0],
            ],
        )
        .rectangle("thin", [270.0, 70.0, 18.0, 26.0])
        .asked([118.0, 182.0], "trap and drain", [160.0, 150.0])
        .asked([256.0, 60.0], "outlet", [278.0, 84.0])
        .asked([16.0, 140.0], "carries it", [110.0, 36.0]);
    sketch.finish()
}

/// A wall seen from outdoors with a window and the ground.
fn facade(sketch: &mut Sketch) {
    sketch
        .line(
            "cut",
            &[[50.0, 185.0], [50.0, 40.0], [310.0, 40.0], [310.0, 185.0]],
        )
        .line("cut", &[[38.0, 40.0], [322.0, 40.0]])
        .ground(10.0, 350.0, 185.0)
        .rectangle("thin", [235.0, 75.0, 50.0, 60.0])
        .line("thin", &[[260.0, 75.0], [260.0, 135.0]]);
}

fn wall() -> String {
    let mut sketch = Sketch::new(
        "A wall seen from outdoors: its left corner is where all distances begin; width and height to the eaves",
    );
    facade(&mut sketch);
    sketch
        .circle("point", [50.0, 185.0], 5.0)
        .dimension([50.0, 212.0], [310.0, 212.0], "width, from the left corner")
        .dimension([78.0, 185.0], [78.0, 40.0], "height to the eaves")
        .words([56.0, 28.0], "stand outdoors, face the wall");
    sketch.finish()
}

fn hood() -> String {
    let mut sketch = Sketch::new(
        "The centre of the hood: from the left corner of the wall, and above the ground",
    );
    facade(&mut sketch);
    sketch
        .rectangle("thin", [140.0, 98.0, 28.0, 24.0])
        .line("thin", &[[143.0, 106.0], [165.0, 106.0]])
        .line("thin", &[[143.0, 114.0], [165.0, 114.0]])
        .circle("point", [154.0, 110.0], 4.0)
        .dimension([50.0, 70.0], [154.0, 70.0], "along")
        .line("act", &[[154.0, 70.0], [154.0, 106.0]])
        .dimension([154.0, 185.0], [154.0, 114.0], "above ground");
    sketch.finish()
}

fn second_hood() -> String {
    let mut sketch = Sketch::new(
        "A second hood: intake and exhaust far from each other, each measured from the left corner",
    );
    facade(&mut sketch);
    for x in [90.0, 190.0] {
        sketch
            .rectangle("thin", [x - 12.0, 100.0, 24.0, 20.0])
            .circle("point", [x, 110.0], 4.0);
    }
    sketch
        .dimension([90.0, 84.0], [190.0, 84.0], "far apart")
        .dimension([50.0, 168.0], [190.0, 168.0], "along")
        .line("act", &[[190.0, 114.0], [190.0, 168.0]])
        .centred([90.0, 138.0], "words", "intake")
        .centred([222.0, 138.0], "words", "exhaust");
    sketch.finish()
}

fn snow() -> String {
    let mut sketch =
        Sketch::new("The depth of snow at the wall, drifts included: hoods stay above it");
    sketch
        .line("cut", &[[90.0, 20.0], [90.0, 190.0]])
        .line("cut", &[[76.0, 20.0], [76.0, 190.0]])
        .ground(10.0, 350.0, 190.0)
        .shape(
            "snow",
            &[
                [92.0, 189.0],
                [92.0, 120.0],
                [140.0, 134.0],
                [220.0, 140.0],
                [350.0, 138.0],
                [350.0, 189.0],
            ],
        )
        .rectangle("thin", [90.0, 60.0, 24.0, 22.0])
        .dimension([150.0, 189.0], [150.0, 137.0], "expected snow")
        .words([124.0, 76.0], "hood above it");
    sketch.finish()
}

fn runs() -> String {
    let mut sketch = Sketch::new(
        "The new ducts from the unit to each tap, grille and hood: length along the duct and its elbows",
    );
    sketch
        .rectangle("cut", [20.0, 90.0, 80.0, 50.0])
        .centred([60.0, 120.0], "words", "unit")
        .line("cut", &[[250.0, 30.0], [350.0, 30.0]])
        .line("cut", &[[250.0, 62.0], [350.0, 62.0]])
        .words([262.0, 24.0], "existing duct")
        .line("cut", &[[330.0, 120.0], [330.0, 205.0]])
        .words([268.0, 222.0], "wall, hood")
        .line(
            "duct",
            &[[100.0, 102.0], [180.0, 102.0], [180.0, 46.0], [250.0, 46.0]],
        )
        .line(
            "duct",
            &[
                [100.0, 128.0],
                [180.0, 128.0],
                [180.0, 176.0],
                [330.0, 176.0],
            ],
        )
        .circle("point", [180.0, 102.0], 4.0)
        .circle("point", [180.0, 46.0], 4.0)
        .circle("point", [180.0, 128.0], 4.0)
        .circle("point", [180.0, 176.0], 4.0)
        .asked([196.0, 100.0], "elbows: count them", [180.0, 102.0])
        .dimension([186.0, 196.0], [326.0, 196.0], "")
        .svg
        .text([196.0, 154.0], "asked", "length");
    sketch.finish()
}

fn unit() -> String {
    let mut sketch = Sketch::new("The unit with its core and four ports, and its tested figures");
    sketch
        .rectangle("cut", [110.0, 60.0, 140.0, 100.0])
        .line(
            "thin",
            &[
                [150.0, 110.0],
                [180.0, 80.0],
                [210.0, 110.0],
                [180.0, 140.0],
                [150.0, 110.0],
            ],
        )
        .air([50.0, 90.0], [108.0, 90.0])
        .air([108.0, 135.0], [50.0, 135.0])
        .air([252.0, 90.0], [310.0, 90.0])
        .air([310.0, 135.0], [252.0, 135.0])
        .words([30.0, 76.0], "outdoor")
        .words([30.0, 158.0], "exhaust")
        .words([272.0, 76.0], "supply")
        .words([272.0, 158.0], "extract")
        .rectangle("thin", [128.0, 172.0, 104.0, 40.0])
        .line("thin", &[[138.0, 184.0], [222.0, 184.0]])
        .line("thin", &[[138.0, 194.0], [210.0, 194.0]])
        .line("thin", &[[138.0, 204.0], [216.0, 204.0]])
        .words([244.0, 204.0], "tested figures");
    sketch.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn each_sheet_is_small_and_says_what_it_shows() {
        let mut titles = BTreeSet::new();
        for sheet in Sheet::ALL {
            let svg = sheet.draw();
            assert!(svg.len() < 8_000, "{sheet:?} takes {} bytes", svg.len());
            assert!(!svg.contains("style="), "{sheet:?}");
            assert_eq!(svg.matches("<svg").count(), 1);
            let label = svg
                .split("aria-label=\"")
                .nth(1)
                .and_then(|rest| rest.split('"').next());
            let label = label.expect("a label");
            assert!(label.len() > 20, "{sheet:?}: {label}");
            assert!(
                titles.insert(label.to_owned()),
                "{sheet:?} says what another says"
            );
        }
    }

    #[test]
    fn words_stay_on_the_sheet() {
        for sheet in Sheet::ALL {
            for text in sheet.draw().split("<text ").skip(1) {
                let value = |name: &str| -> f64 {
                    let rest = text.split(&format!("{name}=\"")).nth(1).expect("a place");
                    rest.split('"')
                        .next()
                        .and_then(|number| number.parse().ok())
                        .expect("a number")
                };
                let words = text
                    .split('>')
                    .nth(1)
                    .and_then(|rest| rest.split('<').next());
                let words = words.expect("words");
                let right = value("x") + SIZE * width(words) * 0.88;
                assert!(
                    value("x") >= 0.0 && right <= WIDTH,
                    "{sheet:?}: {words} ends at {right}"
                );
                assert!((SIZE..=HEIGHT).contains(&value("y")), "{sheet:?}: {words}");
            }
        }
    }
}
