//! What is sent from the page of a wall: a thing moved, kept, added, taken away; the last change
//! taken back.

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use diagnostics::{Problem, Severity};
use house::model::Job;
use rules::clearances::Stream;
use sheets::Movable;
use siting::Place;
use store::Document;
use units::text::capital;

use crate::App;
use crate::job::{self, Open, append, back, failed, nowhere, try_out};
use crate::known::Known;
use crate::layout::message;

use super::board::{Moved, shown};
use super::edits::{
    Edit, Target, at_point, movable, moved, object_added, removed, terminal_added, word,
};

type Sent = Vec<(String, String)>;

/// A field of a form, without the blanks around it.
fn field<'a>(sent: &'a Sent, name: &str) -> &'a str {
    let found = sent.iter().find(|(field, _)| field == name);
    found.map_or("", |(_, value)| value.trim())
}

/// Something is moved, kept, added or taken away.
pub async fn change(
    State(app): State<App>,
    Path((name, wall)): Path<(String, String)>,
    Form(sent): Form<Sent>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let index = wall.parse::<usize>().ok();
    let index = index
        .and_then(|number| number.checked_sub(1))
        .ok_or_else(nowhere)?;
    let version: u64 = field(&sent, "version").parse().map_err(|_| no_form())?;
    let page = open.address(&format!("/walls/{}", index + 1));
    let at = field(&sent, "what");
    if field(&sent, "do") == "undo" {
        let done = append(&app, &open.head.key, version, Document::undo).await;
        done.map_err(|error| failed(&error))?;
        return Ok(back(&format!("{page}?at={}", word_of(at))));
    }
    // A text with errors has no job; its page says what to do first.
    let Some(job) = open.known.job() else {
        return Ok(back(&page));
    };
    if index >= job.walls.len() {
        return Err(nowhere());
    }
    let desk = Desk {
        app: &app,
        open: &open,
        job,
        index,
        sent: &sent,
    };
    let chosen = movable(at);
    match field(&sent, "do") {
        "look" => desk.look(chosen).await,
        "keep" => {
            let edit = desk.moved(chosen);
            desk.keep(version, edit.map(|edit| (edit, chosen))).await
        }
        "remove" => {
            let thing = chosen.ok_or_else(no_form)?;
            let edit = removed(open.known.text(), job, index, thing);
            desk.keep(version, edit.map(|edit| (edit, None))).await
        }
        "add" => {
            desk.keep(version, desk.added().map(|(edit, new)| (edit, Some(new))))
                .await
        }
        other => {
            let stream = match other {
                "best-intake" => Some(Stream::Intake),
                "best-exhaust" => Some(Stream::Exhaust),
                "best-two-in-one" => None,
                _ => return Err(no_form()),
            };
            let edit = desk.best(stream);
            desk.keep(version, edit.map(|(edit, new)| (edit, Some(new))))
                .await
        }
    }
}

/// The word of a thing if it is one.
fn word_of(at: &str) -> String {
    movable(at).map(word).unwrap_or_default()
}

fn no_form() -> Response {
    let page = message(
        "That was no form of this program",
        "Load the page again. Nothing was changed.",
    );
    (StatusCode::BAD_REQUEST, page).into_response()
}

struct Desk<'a> {
    app: &'a App,
    open: &'a Open,
    job: &'a Job,
    index: usize,
    sent: &'a Sent,
}

impl Desk<'_> {
    /// A point of the drawing that was sent (m).
    fn point(&self) -> Option<[f64; 2]> {
        let (s, z) = field(self.sent, "point").split_once(' ')?;
        Some([s.parse().ok()?, z.parse().ok()?])
    }

    fn moved(&self, chosen: Option<Movable>) -> Result<Edit, String> {
        let thing = chosen.ok_or_else(|| "Choose what is to be moved.".to_owned())?;
        let target = match self.point() {
            Some(point) => Target::Point(point),
            None => Target::Typed {
                along: field(self.sent, "along"),
                up: field(self.sent, "up"),
            },
        };
        let text = self.open.known.text();
        let system = self.open.known.system();
        moved(text, self.job, self.index, thing, &target, system)
    }

    /// Shows what would be, and keeps nothing.
    async fn look(&self, chosen: Option<Movable>) -> Result<Response, Response> {
        match self.moved(chosen) {
            Err(why) => Ok(self.refused(chosen, why)),
            Ok(edit) => {
                let known = try_out(self.app, &edit.text).await;
                if let Some(why) = self.wrong(&known) {
                    return Ok(self.refused(chosen, why));
                }
                let moved = Moved {
                    tried: (edit.text != self.open.known.text()).then_some(&known),
                    ..Moved::default()
                };
                Ok(shown(self.open, self.index, chosen, &moved, self.part()))
            }
        }
    }

    fn part(&self) -> bool {
        !field(self.sent, "part").is_empty()
    }

    /// Keeps an edit, unless it makes the job wrong.
    async fn keep(
        &self,
        version: u64,
        edit: Result<(Edit, Option<Movable>), String>,
    ) -> Result<Response, Response> {
        let sent = movable(field(self.sent, "what"));
        let (edit, chosen) = match edit {
            Ok(edit) => edit,
            Err(why) => return Ok(self.refused(sent, why)),
        };
        let known = try_out(self.app, &edit.text).await;
        if let Some(why) = self.wrong(&known) {
            return Ok(self.refused(sent, why));
        }
        job::change(
            self.app,
            &self.open.head.key,
            version,
            edit.what,
            &edit.text,
        )
        .await
        .map_err(|error| failed(&error))?;
        let page = self.open.address(&format!("/walls/{}", self.index + 1));
        let at = chosen.map(word).unwrap_or_default();
        Ok(back(&format!("{page}?at={at}&kept=yes")))
    }

    /// What is wrong with a changed text and was not wrong before.
    fn wrong(&self, known: &Known) -> Option<String> {
        if known.job().is_some() {
            return None;
        }
        let errors = |known: &Known| -> Vec<Problem> {
            let list = known.reading.problems.list().into_iter();
            list.filter(|problem| problem.severity == Severity::Error)
                .map(|problem| (*problem).clone())
                .collect()
        };
        let before = errors(&self.open.known);
        let now = errors(known);
        let new = now
            .iter()
            .find(|problem| !before.iter().any(|other| other.title == problem.title))?;
        let mut words = format!("{}.", capital(&new.title));
        for help in &new.help {
            words += &format!(" {}.", capital(help));
        }
        Some(words)
    }

    /// The page with the reason why something cannot be.
    fn refused(&self, chosen: Option<Movable>, why: String) -> Response {
        let moved = Moved {
            wrong: Some(why),
            sent: self.sent,
            ..Moved::default()
        };
        let page = shown(self.open, self.index, chosen, &moved, self.part());
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    }

    /// A thing or a terminal at the place that was sent.
    fn added(&self) -> Result<(Edit, Movable), String> {
        let system = self.open.known.system();
        let text = self.open.known.text();
        let kind = field(self.sent, "kind");
        let stream = match kind {
            "" => return Err("Choose what it is.".to_owned()),
            "new intake" => Some(Some(Stream::Intake)),
            "new exhaust" => Some(Some(Stream::Exhaust)),
            "new two-in-one hood" => Some(None),
            _ => None,
        };
        let mut along = field(self.sent, "along").to_owned();
        let mut up = field(self.sent, "up").to_owned();
        let point = self.point().filter(|[s, z]| s.is_finite() && z.is_finite());
        let Some(stream) = stream else {
            if let Some(point) = point {
                [along, up] = at_point(kind, point, system);
            }
            if along.is_empty() {
                return Err(
                    "Say how far its left edge is from the left corner of the wall.".to_owned(),
                );
            }
            let mut lengths = vec![("along", along), ("bottom", up)];
            for key in ["width", "height", "out", "depth"] {
                lengths.push((key, field(self.sent, key).to_owned()));
            }
            return object_added(text, self.job, self.index, kind, &lengths);
        };
        let place = match point {
            Some(at) => Place {
                wall: self.index,
                at,
            },
            None => self.typed_place(&along, &up)?,
        };
        terminal_added(text, self.job, place, stream, system)
    }

    /// The place that two typed lengths say: along the wall, and above the ground there.
    fn typed_place(&self, along: &str, up: &str) -> Result<Place, String> {
        use units::{Length, Quantity as _, Typed};
        let length = |which: &str, text: &str| {
            Typed::<Length>::parse(text)
                .map(|typed| typed.value.si())
                .map_err(|error| format!("{which}: {error}."))
        };
        let s = length("Along the wall", along)?;
        let height = length("Up", up)?;
        let ground = self.job.walls[self.index].ground(s);
        Ok(Place {
            wall: self.index,
            at: [s, ground + height],
        })
    }

    /// A new terminal where it has the most room.
    fn best(&self, stream: Option<Stream>) -> Result<(Edit, Movable), String> {
        let system = self.open.known.system();
        let (walls, _) = self
            .open
            .known
            .sited(self.job)
            .map_err(|why| format!("The walls cannot be used: {why}."))?;
        let found = walls.most_room(self.job, self.index, stream, system);
        let what = match stream {
            Some(Stream::Intake) => "an intake",
            Some(Stream::Exhaust) => "an exhaust",
            None => "a two-in-one hood",
        };
        let found = found.ok_or_else(|| {
            format!("No place on this wall is allowed for {what}. The drawing as a sheet says what takes the room.")
        })?;
        let text = self.open.known.text();
        terminal_added(text, self.job, found.place, stream, system)
    }
}
