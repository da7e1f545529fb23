//! One wall on a page: its drawing, and what is told of the thing that is chosen.

use axum::response::{IntoResponse as _, Response};
use drawing::Grip;
use house::model::{Job, Wall, WallObject};
use maud::{Markup, PreEscaped, html};
use plan::walls::{TerminalReport, Walls, WallsReport};
use serde::Deserialize;
use sheets::{Explained, Movable, View, board};
use siting::Place;
use units::System;
use units::text::capital;

use crate::assets::{script, style};
use crate::job::{Open, nowhere};
use crate::known::{Known, Regions};
use crate::layout::of_job;
use crate::needs::blocked;
use crate::say::encoded;

use super::edits::word;
use super::figure::Figure;
use super::panel::panel;

/// What is asked of the page of a wall.
#[derive(Deserialize, Default)]
pub struct Asked {
    /// The thing that is chosen.
    #[serde(default)]
    pub at: String,
    /// Only the part that changes.
    #[serde(default)]
    pub part: String,
    /// Something was kept just now.
    #[serde(default)]
    pub kept: String,
}

/// What stands on the page beside what the file says.
#[derive(Default)]
pub struct Moved<'a> {
    /// What would be known if what is tried were kept.
    pub tried: Option<&'a Known>,
    /// Why what was sent cannot be.
    pub wrong: Option<String>,
    /// What was sent.
    pub sent: &'a [(String, String)],
    /// Something was kept just now.
    pub kept: bool,
}

/// A wall with everything that its page tells.
pub struct Board<'a> {
    /// The job as it is kept.
    pub open: &'a Open,
    /// What is shown: kept or tried.
    pub known: &'a Known,
    /// The job that is shown.
    pub job: &'a Job,
    /// Its walls.
    pub walls: &'a Walls,
    /// Its terminals.
    pub report: &'a WallsReport,
    /// Which wall.
    pub index: usize,
    /// What is chosen.
    pub chosen: Option<Movable>,
    /// What is sent and tried.
    pub moved: &'a Moved<'a>,
}

/// The page as the file says it.
pub fn page(open: &Open, index: usize, asked: &Asked) -> Response {
    let moved = Moved {
        kept: !asked.kept.is_empty(),
        ..Moved::default()
    };
    shown(
        open,
        index,
        super::edits::movable(&asked.at),
        &moved,
        !asked.part.is_empty(),
    )
}

/// The page with what is tried, or only the part of it that changes.
pub fn shown(
    open: &Open,
    index: usize,
    chosen: Option<Movable>,
    moved: &Moved,
    part: bool,
) -> Response {
    let known = moved.tried.unwrap_or(&open.known);
    let title = "Where the walls may be pierced";
    let Some(job) = known.job() else {
        return of_job(open, "/walls", "Walls", &blocked(open, title)).into_response();
    };
    let Some(wall) = job.walls.get(index) else {
        return nowhere();
    };
    let content = match known.sited(job) {
        Err(why) => html! {
            h1 { (capital(&wall.name)) }
            p { "The walls cannot be used: " (why) ". Look for the wall or the object in the survey." }
        },
        Ok((walls, report)) => {
            let board = Board {
                open,
                known,
                job,
                walls,
                report,
                index,
                chosen: chosen.filter(|chosen| is_there(job, index, *chosen)),
                moved,
            };
            if part {
                return board.changing().into_response();
            }
            board.content()
        }
    };
    of_job(open, "/walls", &capital(&wall.name), &content).into_response()
}

/// Whether a thing is on the wall.
fn is_there(job: &Job, wall: usize, thing: Movable) -> bool {
    match thing {
        Movable::Object(index) => index < job.walls[wall].objects.len(),
        Movable::Terminal(index) => job
            .terminals
            .get(index)
            .is_some_and(|terminal| terminal.place.is_some_and(|place| place.wall == wall)),
    }
}

impl Board<'_> {
    /// The wall.
    pub fn wall(&self) -> &Wall {
        &self.job.walls[self.index]
    }

    /// The units that stand first.
    pub fn system(&self) -> System {
        self.known.system()
    }

    /// The address of the page, with a thing chosen.
    pub fn address(&self, chosen: Option<Movable>) -> String {
        let page = format!("/walls/{}", self.index + 1);
        self.open.address(&match chosen {
            Some(thing) => format!("{page}?at={}", word(thing)),
            None => page,
        })
    }

    /// The address at which a figure explains itself, as things are shown here; `more` names what it
    /// depends on beside the wall, like `at=terminal-1`.
    pub fn why(&self, figure: Figure, more: &str) -> String {
        let mut query: Vec<String> = Vec::new();
        if !more.is_empty() {
            query.push(more.to_owned());
        }
        if let (Some(tried), Some(thing)) = (self.moved.tried, self.chosen) {
            query.push(format!("moved={}", word(thing)));
            for (key, along) in [("along", true), ("up", false)] {
                let value = super::edits::value(tried.text(), self.index, thing, along);
                if let Some(value) = value {
                    query.push(format!("{key}={}", encoded(&value)));
                }
            }
        }
        let mut address = format!("/walls/why/{}/{}", self.index + 1, figure.key());
        if !query.is_empty() {
            address += &format!("?{}", query.join("&"));
        }
        self.open.address(&address)
    }

    fn content(&self) -> Markup {
        let here = self.index;
        html! {
            (style("elevation.css"))
            (style("walls.css"))
            p class="trail" { a href=(self.open.address("/walls")) { "Walls" } }
            h1 { (capital(&self.wall().name)) }
            nav class="walls" aria-label="Walls of the house" {
                ul {
                    @for (index, wall) in self.job.walls.iter().enumerate() {
                        li {
                            a href=(self.open.address(&format!("/walls/{}", index + 1))) aria-current=[(index == here).then_some("page")] { (wall.name) }
                        }
                    }
                }
            }
            (self.changing())
            p class="quiet" {
                "The local code and the maker’s instructions decide. Before a wall is opened, find what runs in it: power, gas, water. "
                a href=(self.open.address(&format!("/walls/{}.svg", here + 1))) { "The drawing as a sheet" } ", with the best places on it."
            }
            (script("why.js")) (script("walls.js"))
        }
    }

    /// What changes while something is moved.
    fn changing(&self) -> Markup {
        let regions = self.regions();
        let judged = match self.chosen {
            Some(Movable::Terminal(index)) => self.walls.judged_beside(self.job, index),
            _ => None,
        };
        let nearest = self.nearest(&regions, judged.as_ref());
        let grip = |thing: Movable| self.grip(thing);
        let why = |explained: Explained| match explained {
            Explained::Limit(demand) => self.why(Figure::Limit(demand), ""),
            Explained::Distance {
                terminal,
                stream,
                judgement,
                with,
            } => {
                let with = with.map(|with| format!("with={}", word(Movable::Terminal(with))));
                let figure = Figure::of(terminal, stream, judgement);
                self.why(figure, &with.unwrap_or_default())
            }
        };
        let view = View {
            regions: &regions,
            chosen: self.chosen,
            nearest,
            grip: &grip,
            why: &why,
        };
        let elevation = board(
            self.job,
            self.walls,
            self.report,
            self.index,
            &view,
            self.system(),
        );
        let mark = match self.system() {
            System::Ip => 0.0254,
            System::Si => 0.01,
        };
        html! {
            div id="wall" class="moving" data-address=(self.address(None)) data-version=(self.open.head.version)
                data-mark=(mark) data-tried=[self.moved.tried.is_some().then_some("yes")] {
                div class="board" tabindex="0" role="region" aria-label={ "Drawing of the " (self.wall().name) } {
                    @if let Some(elevation) = elevation { (PreEscaped(elevation.draw_on_page().svg)) }
                }
                div class="panel" {
                    (panel(self, &regions, judged.as_ref(), nearest))
                }
            }
        }
    }

    /// Where hoods may lie: the chosen terminal, or any.
    fn regions(&self) -> Regions {
        match self.chosen {
            Some(Movable::Terminal(index)) => self.walls.regions_of(self.job, index),
            _ => self.known.regions(self.walls, self.index).to_vec(),
        }
    }

    fn nearest(&self, regions: &Regions, judged: Option<&TerminalReport>) -> Option<Place> {
        let Some(Movable::Terminal(index)) = self.chosen else {
            return None;
        };
        if judged?.holds() {
            return None;
        }
        self.walls
            .nearest_allowed(self.job, index, regions, self.system())
    }

    /// The way of a thing in the file.
    pub fn grip(&self, thing: Movable) -> Grip {
        let wall = self.wall();
        let (at, range, words) = match thing {
            Movable::Object(index) => {
                let object = &wall.objects[index];
                let words = format!("{}, {}", object.name, self.object_place(object));
                (
                    [object.along, object.bottom],
                    self.range(object, index),
                    words,
                )
            }
            Movable::Terminal(index) => {
                let terminal = &self.job.terminals[index];
                let at = self
                    .walls
                    .place(terminal)
                    .map_or([0.0, 0.0], |place| place.at);
                let [low, high] = extent(&wall.outline);
                let half = [terminal.size[0] / 2.0, terminal.size[1] / 2.0];
                let range = [
                    [low[0] + half[0], low[1] + half[1]],
                    [high[0] - half[0], high[1] - half[1]],
                ];
                let place = Place {
                    wall: self.index,
                    at,
                };
                let words = format!(
                    "{}, {}",
                    terminal.name,
                    self.walls.place_words(place, self.system())
                );
                (at, range, words)
            }
        };
        Grip {
            what: word(thing),
            address: self.address(Some(thing)),
            words: format!("{words}. Arrow keys move it."),
            at,
            range,
            chosen: self.chosen == Some(thing),
        }
    }

    /// How far an object may be moved.
    fn range(&self, object: &WallObject, index: usize) -> [[f64; 2]; 2] {
        let [low, high] = extent(&self.wall().outline);
        let thing = Movable::Object(index);
        let on_ground = super::edits::value(self.known.text(), self.index, thing, false).is_none();
        let width = high[0] - low[0];
        let [left, right] = if object.out > 0.0 || object.width >= width {
            // What stands before the wall may reach beyond it.
            [low[0] - object.width, high[0]]
        } else {
            [low[0], (high[0] - object.width).max(low[0])]
        };
        let [lower, upper] = if on_ground {
            [object.bottom, object.bottom]
        } else {
            let above = high[1].max(object.bottom + object.height);
            [low[1].min(object.bottom), above - object.height]
        };
        [[left, lower], [right, upper]]
    }

    /// Where an object is, as one measures it.
    pub fn object_place(&self, object: &WallObject) -> String {
        use units::{Length, Quantity as _};
        let show = |length: f64| Length::from_si(length.abs()).show(self.system());
        let side = |length: f64, ways: [&'static str; 2]| ways[usize::from(length < 0.0)];
        format!(
            "left edge {} {} the left corner, lower edge {} {} the level line",
            show(object.along),
            side(object.along, ["from", "left of"]),
            show(object.bottom),
            side(object.bottom, ["above", "below"])
        )
    }
}

/// The lowest and the highest corner of an outline.
fn extent(outline: &[[f64; 2]]) -> [[f64; 2]; 2] {
    let of = |axis: usize, start: f64, pick: fn(f64, f64) -> f64| {
        outline.iter().map(|point| point[axis]).fold(start, pick)
    };
    let (least, most) = (f64::INFINITY, f64::NEG_INFINITY);
    [
        [of(0, least, f64::min), of(1, least, f64::min)],
        [of(0, most, f64::max), of(1, most, f64::max)],
    ]
}
