//! What is written into the journal from the page of the readings.

use axum::extract::multipart::Multipart;
use axum::extract::{Form, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use balancing::{Day, Wanted, entries};
use commission::{Damped, Place};
use diagnostics::Source;
use house::model::{Mode, Setting};
use journal::{Event, Journal, Stamp, StruckOut, Visit};
use store::{Change, Document, Key, Kind, StoreError};

use super::entry::Again;
use super::photo::{self, Photo, Sent};
use super::{Log, page, revisit};
use crate::App;
use crate::job::{Open, back, failed, nowhere};
use crate::layout::message;

/// How often an entry is tried again that another one has overtaken.
const TRIES: usize = 20;

/// The fields of a form.
pub type Fields = [(String, String)];

/// What was typed into a field, without space around it.
pub fn field<'a>(sent: &'a Fields, name: &str) -> &'a str {
    let found = sent.iter().find(|(field, _)| field == name);
    found.map_or("", |(_, typed)| typed.trim())
}

/// Whether the page that sent this knew the journal as it stands, as far as readings and dampers go.
fn is_fresh(log: &Log, sent: &Fields) -> bool {
    field(sent, "seen").parse() == Ok(log.last_of_day())
}

/// Who writes, and by which clock, as a form says.
pub fn stamp(app: &App, sent: &Fields) -> Stamp {
    let ahead = field(sent, "zone").parse().unwrap_or(0);
    Stamp {
        time: journal::time::written((app.workspace.clock)(), ahead),
        who: cut(field(sent, "who"), 100),
    }
}

/// A text of one line, no longer than this.
fn cut(text: &str, most: usize) -> String {
    let plain = text.chars().filter(|letter| !letter.is_control());
    plain.take(most).collect()
}

/// Appends events to the journal of a job, all of them or none. `fresh` says by the journal as it
/// stands at that moment whether they still make sense; if not, nothing is written and the answer
/// is false.
pub async fn append(
    app: &App,
    job: &str,
    stamp: &Stamp,
    events: &[Event],
    fresh: impl Fn(&Log) -> bool,
) -> Result<bool, StoreError> {
    let stamped = events.iter().map(|event| (stamp.clone(), event.clone()));
    append_stamped(app, job, &stamped.collect::<Vec<_>>(), fresh).await
}

/// The same, each event with its own stamp.
async fn append_stamped(
    app: &App,
    job: &str,
    events: &[(Stamp, Event)],
    fresh: impl Fn(&Log) -> bool,
) -> Result<bool, StoreError> {
    let key = Key::new(Kind::Journal, job).ok_or(StoreError::Failed("no job".into()))?;
    for _ in 0..TRIES {
        let log = Log::of(app, job).await?;
        if !fresh(&log) {
            return Ok(false);
        }
        let mut text = log.text.to_string();
        let before = text.len();
        for (stamp, event) in events {
            let next = Journal::read(text.as_bytes()).next(stamp, event.clone());
            text.push_str(&String::from_utf8_lossy(&next.bytes));
        }
        let grown = text.split_off(before);
        match grow(app, &key, &log, grown).await {
            Err(StoreError::Moved { .. }) => {}
            other => return other.map(|()| true),
        }
    }
    Err(StoreError::Moved { now: 0 })
}

/// Lets the text of a journal grow, if it still is what it was.
async fn grow(app: &App, key: &Key, log: &Log, text: String) -> Result<(), StoreError> {
    let store = &app.workspace.store;
    let (mut document, change) = if log.version == 0 {
        (None, Change::Began { text })
    } else {
        let events = store.history(key).await?;
        let known = events
            .into_iter()
            .filter(|event| event.version <= log.version);
        let document = Document::replay(&known.collect::<Vec<_>>())?;
        (Some(document), Change::Appended { text })
    };
    let event = store::Event::new(log.version + 1, (app.workspace.clock)(), change);
    let document = match &mut document {
        None => Document::replay([&event])?,
        Some(document) => {
            document.take(&event)?;
            document.clone()
        }
    };
    store.append(key, &event, &document).await
}

/// The words for a form that was made for another state of the day.
fn overtaken(log: &Log) -> String {
    let last = log.journal.entries().next_back();
    let words = last.map_or(String::new(), |entry| {
        format!(" (entry {}: {})", entry.number, entry.event.words())
    });
    format!(
        "In the meantime something else was written{words}. Look at what is asked for now; what you typed is not kept yet."
    )
}

/// The page again, with what was typed and what is wrong with it.
async fn ask_again(
    app: &App,
    job: &str,
    status: StatusCode,
    form: &'static str,
    fields: Vec<(String, String)>,
    why: String,
) -> Response {
    match Open::job(app, job).await {
        Err(response) => response,
        Ok(open) => {
            let back = field(&fields, "back") == "/day/revisit";
            let again = Again { form, fields, why };
            if back {
                revisit::shown(&open, status, &again)
            } else {
                page::shown(&open, status, &again)
            }
        }
    }
}

fn mode(word: &str) -> Option<Mode> {
    Mode::ALL
        .into_iter()
        .find(|mode| mode.name().eq_ignore_ascii_case(word))
}

fn setting(word: &str) -> Option<Setting> {
    [Setting::Off, Setting::Low, Setting::High, Setting::Boost]
        .into_iter()
        .find(|known| known.name().eq_ignore_ascii_case(word))
}

/// A number as it was typed, with the sign and the unit that were chosen beside it.
pub fn with_unit(sent: &Fields, value: &str, minus: &str, unit: &str) -> String {
    let mut text = cut(field(sent, value), 200);
    if field(sent, minus) == "1" && !text.starts_with(['-', '−', '+']) {
        text.insert(0, '-');
    }
    let has_unit = text.contains(|c: char| c.is_alphabetic() || "\"″°%".contains(c));
    let unit = cut(field(sent, unit), 12);
    if has_unit || unit.is_empty() {
        text
    } else {
        format!("{text} {unit}")
    }
}

/// The day begins.
pub async fn begin(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let stamp = stamp(&app, &sent);
    let again = async |status, why: &str| {
        ask_again(&app, &name, status, "begin", sent.clone(), why.to_owned()).await
    };
    if stamp.who.is_empty() {
        let why = "Say who reads: it stands beside every entry.";
        return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await);
    }
    let visit = match visit(&sent, open.name()) {
        Ok(visit) => visit,
        Err(why) => return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, &why).await),
    };
    let begun = [Event::SetUp(visit)];
    match append(&app, &name, &stamp, &begun, |log| is_fresh(log, &sent)).await {
        Ok(true) => Ok(back(&open.address("/day"))),
        Ok(false) => Ok(again(StatusCode::CONFLICT, &overtaken(&open.log)).await),
        Err(error) => Err(failed(&error)),
    }
}

/// Weather of the day as a form says it.
pub fn visit(sent: &Fields, job: &str) -> Result<Visit, String> {
    let temperature = |name: &str| {
        if field(sent, name).is_empty() {
            return Ok(String::new());
        }
        let typed = with_unit(
            sent,
            name,
            &format!("{name}_minus"),
            &format!("{name}_unit"),
        );
        let understood =
            balancing::temperature(&typed).is_some_and(|celsius| (-50.0..=55.0).contains(&celsius));
        if understood {
            Ok(typed)
        } else {
            Err(format!(
                "“{typed}” is no temperature of a day, like 48 °F or 9 °C; leave it out if you do not know it."
            ))
        }
    };
    Ok(Visit {
        job: job.to_owned(),
        outdoor: temperature("outdoor")?,
        indoor: temperature("indoor")?,
        note: String::new(),
    })
}

/// Keeps a photo that was sent, if there is one, and tells its name.
pub async fn photo_of(app: &App, open: &Open, photo: Option<Photo>) -> Result<String, Response> {
    match photo {
        None => Ok(String::new()),
        Some(photo) => {
            photo::keep(app, open, &photo).await?;
            Ok(photo.name)
        }
    }
}

/// Keeps a reading as it was typed.
pub async fn read(
    State(app): State<App>,
    Path(name): Path<String>,
    form: Multipart,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let Sent { fields, photo } = Sent::read(form).await?;
    let form = if field(&fields, "form") == "other" {
        "other"
    } else {
        "read"
    };
    let again =
        async |status, why: String| ask_again(&app, &name, status, form, fields.clone(), why).await;
    if !is_fresh(&open.log, &fields) {
        return Ok(again(StatusCode::CONFLICT, overtaken(&open.log)).await);
    }
    if field(&fields, "value").is_empty() {
        let why = "Type what the instrument shows.".to_owned();
        return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await);
    }
    let photo = match photo.transpose() {
        Ok(photo) => photo,
        Err(why) => return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await),
    };
    let day = match day_of(&open) {
        Ok(day) => day,
        Err(why) => return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await),
    };
    let wanted = day.place(field(&fields, "at")).and_then(|place| {
        Some(Wanted {
            place,
            blower: mode(field(&fields, "blower"))?,
            setting: setting(field(&fields, "setting"))?,
        })
    });
    let Some(wanted) = wanted else {
        let why = "There is no such place, or nothing can run so.".to_owned();
        return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await);
    };
    let mut reading = day.reading(&with_unit(&fields, "value", "minus", "unit"), wanted);
    reading.photo = photo_of(&app, &open, photo).await?;
    let mut events = Vec::new();
    if (wanted.blower, wanted.setting) != (day.blower, day.setting) {
        events.push(entries::running(wanted.blower, wanted.setting));
    }
    events.push(Event::Reading(reading));
    let stamp = stamp(&app, &fields);
    let to = if field(&fields, "back") == "/day/revisit" {
        "/day/revisit"
    } else {
        "/day"
    };
    match append(&app, &name, &stamp, &events, |log| is_fresh(log, &fields)).await {
        Ok(true) => Ok(back(&open.address(to))),
        Ok(false) => Ok(again(StatusCode::CONFLICT, overtaken(&open.log)).await),
        Err(error) => Err(failed(&error)),
    }
}

fn day_of(open: &Open) -> Result<Day, String> {
    let job = open.known.job();
    open.known
        .day(job.ok_or("The survey has to be mended first.")?, &open.log)
}

/// A damper was turned: its mark, and what its station shows then.
pub async fn turn(
    State(app): State<App>,
    Path(name): Path<String>,
    form: Multipart,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let Sent { fields, photo } = Sent::read(form).await?;
    let form = if field(&fields, "form") == "damper" {
        "damper"
    } else {
        "turn"
    };
    let again =
        async |status, why: String| ask_again(&app, &name, status, form, fields.clone(), why).await;
    if !is_fresh(&open.log, &fields) {
        return Ok(again(StatusCode::CONFLICT, overtaken(&open.log)).await);
    }
    let damper = match field(&fields, "damper") {
        "supply" => Damped::Supply,
        "extract" => Damped::Extract,
        _ => return Err(nowhere()),
    };
    let Some(angle) = balancing::angle(field(&fields, "mark")) else {
        let why = "The mark stands at an angle from 0 (open) to 90 (shut).".to_owned();
        return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await);
    };
    let photo = match photo.transpose() {
        Ok(photo) => photo,
        Err(why) => return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await),
    };
    let day = match day_of(&open) {
        Ok(day) => day,
        Err(why) => return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why).await),
    };
    let runs = mode(field(&fields, "blower")).zip(setting(field(&fields, "setting")));
    let (blower, at) = runs.unwrap_or((day.blower, day.setting));
    let mut events = Vec::new();
    if (blower, at) != (day.blower, day.setting) {
        events.push(entries::running(blower, at));
    }
    let photo = photo_of(&app, &open, photo).await?;
    let mut turned = entries::turned(damper, angle);
    let station = day
        .station_of(damper)
        .filter(|_| !field(&fields, "value").is_empty());
    if let Some(station) = station {
        events.push(turned.clone());
        let wanted = Wanted {
            place: Place::Station(station),
            blower,
            setting: at,
        };
        let mut reading = after(&day, damper, &turned)
            .reading(&with_unit(&fields, "value", "minus", "unit"), wanted);
        reading.photo = photo;
        events.push(Event::Reading(reading));
    } else {
        if let Event::Damper(turned) = &mut turned
            && !photo.is_empty()
        {
            turned.note = format!("photo {photo}");
        }
        events.push(turned);
    }
    let stamp = stamp(&app, &fields);
    match append(&app, &name, &stamp, &events, |log| is_fresh(log, &fields)).await {
        Ok(true) => Ok(back(&open.address("/day"))),
        Ok(false) => Ok(again(StatusCode::CONFLICT, overtaken(&open.log)).await),
        Err(error) => Err(failed(&error)),
    }
}

/// The day with a damper turned.
fn after(day: &Day, damper: Damped, turned: &Event) -> Day {
    let mut day = day.clone();
    if let Event::Damper(turned) = turned
        && let Some(angle) = balancing::angle(&turned.to)
    {
        let position = commission::Position::at(angle);
        day.dampers[damper as usize] = day.set_up.moved(damper, position);
    }
    day
}

/// Writes events of a plain form and goes back to the day.
async fn plain(
    app: &App,
    name: &str,
    sent: &Fields,
    events: &[Event],
) -> Result<Response, Response> {
    let open = Open::job(app, name).await?;
    let stamp = stamp(app, sent);
    match append(app, name, &stamp, events, |log| is_fresh(log, sent)).await {
        Ok(true) => Ok(back(&open.address("/day"))),
        Ok(false) => {
            let page = message("Changed in the meantime", &overtaken(&open.log));
            Ok((StatusCode::CONFLICT, page).into_response())
        }
        Err(error) => Err(failed(&error)),
    }
}

fn refused(why: &str) -> Response {
    let page = message("That was not kept", why);
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

/// The blower or the ventilator runs otherwise.
pub async fn run(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let runs = mode(field(&sent, "blower")).zip(setting(field(&sent, "setting")));
    let Some((blower, setting)) = runs else {
        return Err(refused("Say what the blower and the ventilator do."));
    };
    plain(&app, &name, &sent, &[entries::running(blower, setting)]).await
}

/// A remark.
pub async fn remark(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let text = cut(field(&sent, "text"), 1000);
    if text.is_empty() {
        return Err(refused("Write what is to be remembered."));
    }
    plain(&app, &name, &sent, &[Event::Note { text }]).await
}

/// Strikes an entry out.
pub async fn strike(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let reason = cut(field(&sent, "reason"), 200);
    if reason.is_empty() {
        return Err(refused(
            "Say why it is struck out; it stays in the journal with the reason.",
        ));
    }
    let entry: u64 = field(&sent, "entry").parse().map_err(|_| nowhere())?;
    let found = open
        .log
        .journal
        .entries()
        .find(|known| known.number == entry);
    match found.map(|entry| &entry.event) {
        None => return Err(nowhere()),
        Some(Event::SetUp(_) | Event::SignedOff(_) | Event::StruckOut(_)) => {
            return Err(refused("This entry cannot be struck out."));
        }
        Some(_) => {}
    }
    plain(
        &app,
        &name,
        &sent,
        &[Event::StruckOut(StruckOut { entry, reason })],
    )
    .await
}

/// Counts a reading with its sign turned.
pub async fn exchange(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let entry: u64 = field(&sent, "entry").parse().map_err(|_| nowhere())?;
    let mut found = open.log.journal.entries();
    let found = found
        .find(|known| known.number == entry)
        .ok_or_else(nowhere)?;
    let Event::Reading(reading) = &found.event else {
        return Err(nowhere());
    };
    plain(&app, &name, &sent, &entries::exchange(entry, reading)).await
}

fn is_journal(file: &str) -> bool {
    file.to_lowercase().ends_with(".journal")
}

/// Appends readings that were written by hand into a file.
async fn read_in(
    app: &App,
    open: &Open,
    fields: &Fields,
    given: &str,
    bytes: &[u8],
) -> Result<Response, Response> {
    let called = if given.is_empty() { "the file" } else { given };
    let source = Source::from_bytes(called, bytes);
    let written = match balancing::written_day(&source) {
        Ok(written) => written,
        Err(problems) => {
            let page = page::not_read(open, &problems);
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    if !is_fresh(&open.log, fields) {
        return Err(refused(&overtaken(&open.log)));
    }
    let journal = &open.log.journal;
    let mut events = balancing::continued(&written, journal);
    let tail: Vec<&Event> = journal.entries().map(|entry| &entry.event).collect();
    let alone = written.iter().map(|(_, event)| event);
    if tail.len() >= written.len() && tail[tail.len() - written.len()..].iter().copied().eq(alone) {
        return Err(refused(
            "All of these readings stand here already. Nothing was brought in.",
        ));
    }
    let now = stamp(app, fields);
    for (stamp, _) in &mut events {
        if stamp.time.is_empty() {
            stamp.time.clone_from(&now.time);
        }
        if stamp.who.is_empty() {
            stamp.who.clone_from(&now.who);
        }
    }
    match append_stamped(app, open.head.key.name(), &events, |log| {
        is_fresh(log, fields)
    })
    .await
    {
        Ok(true) => Ok(back(&open.address("/day"))),
        Ok(false) => Err(refused(&overtaken(&open.log))),
        Err(error) => Err(failed(&error)),
    }
}

/// The journal as a file.
pub async fn fetch(
    State(app): State<App>,
    Path((name, file)): Path<(String, String)>,
) -> Result<Response, Response> {
    if file != format!("{name}.journal") {
        return Err(nowhere());
    }
    let open = Open::job(&app, &name).await?;
    // The name of a job has only letters, digits, `-`, `_` and `.`.
    let attached = format!("attachment; filename=\"{file}\"");
    let headers = [
        (header::CONTENT_TYPE, "text/plain; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, attached),
    ];
    Ok((headers, open.log.text.to_string()).into_response())
}

/// Brings a day in from a file: a journal, whose beginning has to be what stands here, or readings
/// that were written by hand, which are appended. All of it is kept, or nothing.
pub async fn bring_in(
    State(app): State<App>,
    Path(name): Path<String>,
    mut form: Multipart,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let mut file = None;
    let mut fields = Vec::new();
    while let Some(field) = form.next_field().await.map_err(|e| e.into_response())? {
        let key = field.name().unwrap_or_default().to_owned();
        let given = field.file_name().unwrap_or_default().to_owned();
        let bytes = field.bytes().await.map_err(|e| e.into_response())?;
        if key == "file" {
            file = Some((given, bytes));
        } else {
            fields.push((key, String::from_utf8_lossy(&bytes).into_owned()));
        }
    }
    let file = file.filter(|(_, bytes)| !bytes.trim_ascii().is_empty());
    let (given, file) = file.ok_or_else(|| refused("Choose a file that is not empty."))?;
    if !file.trim_ascii_start().starts_with(b"{") && !is_journal(&given) {
        return read_in(&app, &open, &fields, &given, &file).await;
    }
    let text = std::str::from_utf8(&file)
        .map_err(|_| refused("This file is no journal: it is no text in UTF-8."))?;
    let journal = Journal::read(text.as_bytes());
    if journal.entries().next().is_none() {
        return Err(refused(
            "This file is no journal: no line of it is an entry.",
        ));
    }
    if !journal.is_whole() {
        let broken = journal.findings().iter().filter(|it| it.breaks_chain());
        let words: Vec<String> = broken.map(|finding| finding.text()).collect();
        return Err(refused(&format!(
            "This journal is not what was written. {} Nothing was brought in.",
            words.join(" ")
        )));
    }
    let key = Key::new(Kind::Journal, &name).ok_or_else(nowhere)?;
    let log = &open.log;
    if log.text.starts_with(text) {
        return Err(refused(
            "All of this journal stands here already. Nothing was brought in.",
        ));
    }
    let Some(rest) = text.strip_prefix(&*log.text) else {
        let same = log.journal.lines().iter().zip(journal.lines());
        let same = same
            .take_while(|(ours, theirs)| ours.hash == theirs.hash)
            .count();
        return Err(refused(&format!(
            "The two journals part after {}. They cannot be made one; nothing was brought in. Fetch the one that stands here if you want to compare them.",
            match same {
                0 => "nothing that they share".to_owned(),
                count => format!("line {count}"),
            }
        )));
    };
    grow(&app, &key, log, rest.to_owned())
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address("/day")))
}
