//! What is told beside the drawing of a wall: of the thing that is chosen, or of the wall.

use maud::{Markup, html};
use plan::walls::{TerminalReport, share, state};
use rules::clearances::Stream;
use sheets::Movable;
use siting::{Judgement, Place, Verdict};
use units::text::capital;

use super::board::Board;
use super::edits::{kinds, spots_without, value, word};
use super::figure::Figure;
use crate::known::Regions;
use crate::say::counted;

/// The panel.
pub fn panel(
    board: &Board,
    regions: &Regions,
    judged: Option<&TerminalReport>,
    nearest: Option<Place>,
) -> Markup {
    html! {
        @if board.moved.kept { (kept(board)) }
        @match board.chosen {
            Some(Movable::Terminal(index)) => (terminal(board, index, judged, nearest, regions)),
            Some(Movable::Object(index)) => (object(board, index, regions)),
            None => (whole_wall(board, regions)),
        }
    }
}

/// What every form sends along.
fn hidden(board: &Board) -> Markup {
    html! {
        input type="hidden" name="version" value=(board.open.head.version);
        @if let Some(thing) = board.chosen { input type="hidden" name="what" value=(word(thing)); }
    }
}

fn kept(board: &Board) -> Markup {
    html! {
        form method="post" class="undoable" action=(board.address(None)) {
            (hidden(board))
            p role="status" { "Kept in the job." }
            button class="quietly" name="do" value="undo" { "Undo" }
        }
    }
}

/// The verdict in a sentence, then what can be done: within reach of the thumb.
fn form(board: &Board, thing: Movable, good: Option<bool>, verdict: &Markup, up: &str) -> Markup {
    let typed = |along: bool| {
        let sent = if along { "along" } else { "up" };
        let sent = board.moved.sent.iter().find(|(field, _)| field == sent);
        match sent {
            Some((_, typed)) => typed.clone(),
            None => value(board.known.text(), board.index, thing, along).unwrap_or_default(),
        }
    };
    let tried = board.moved.tried.is_some();
    html! {
        form method="post" class="place" data-place action=(board.address(None)) {
            (hidden(board))
            div class="lengths" {
                div {
                    label for="along" { "Along the wall" }
                    input id="along" name="along" value=(typed(true)) autocomplete="off" spellcheck="false";
                }
                div {
                    label for="up" { (up) }
                    input id="up" name="up" value=(typed(false)) autocomplete="off" spellcheck="false"
                        placeholder=[typed(false).is_empty().then_some(match thing { Movable::Object(_) => "on the ground", Movable::Terminal(_) => "4 ft assumed" })];
                }
            }
            div class="bar" {
                @if let Some(why) = &board.moved.wrong {
                    p class="error" role="alert" { (why) }
                }
                p class={ "verdict " (match good { Some(true) => "good", Some(false) => "bad", None => "doubtful" }) } role="status" {
                    span class="shape" aria-hidden="true" {}
                    @if tried { strong { "Not kept yet. " } }
                    (verdict)
                }
                div class="choices" {
                    @if tried {
                        button name="do" value="keep" { "Keep" }
                        a class="button quietly" data-choose href=(board.address(Some(thing))) { "Put back" }
                    } @else {
                        button name="do" value="keep" { "Keep" }
                        button class="quietly" name="do" value="look" { "Try it" }
                    }
                }
            }
        }
    }
}

fn heading(board: &Board, thing: Movable, name: &str) -> Markup {
    html! {
        h2 { (capital(name)) }
        p class="quiet" {
            a data-choose href=(board.address(None)) { "Everything on this wall" }
            " · "
            a href=(board.open.address(&survey(board.index, thing))) { "All that the survey says of it" }
        }
    }
}

fn survey(wall: usize, thing: Movable) -> String {
    match thing {
        Movable::Object(index) => format!("/survey/wall/{}/object/{}", wall + 1, index + 1),
        Movable::Terminal(index) => format!("/survey/terminal/{}", index + 1),
    }
}

fn removal(board: &Board) -> Markup {
    html! {
        form method="post" class="removal" action=(board.address(None)) {
            (hidden(board))
            button class="quietly" name="do" value="remove" { "Take it away" }
        }
    }
}

fn terminal(
    board: &Board,
    index: usize,
    judged: Option<&TerminalReport>,
    nearest: Option<Place>,
    regions: &Regions,
) -> Markup {
    let terminal = &board.job.terminals[index];
    let (walls, wall, system) = (board.walls, board.index, board.system());
    let verdicts: Vec<(Stream, &Verdict)> = judged
        .iter()
        .flat_map(|judged| {
            let intake = judged.intake.iter().map(|it| (Stream::Intake, it));
            intake.chain(judged.exhaust.iter().map(|it| (Stream::Exhaust, it)))
        })
        .collect();
    // What breaks a rule, or else what is tighter, is the sentence that is read while moving.
    let first = verdicts.iter().min_by(|(_, one), (_, other)| {
        let rank = |verdict: &Verdict| (verdict.fit.holds(), verdict.margin());
        let ((a, b), (c, d)) = (rank(one), rank(other));
        a.cmp(&c).then(b.total_cmp(&d))
    });
    let words = match first {
        Some((stream, verdict)) => {
            let words = walls.verdict_words(verdict, wall, system);
            let words = match (verdicts.len(), stream, verdict.holds()) {
                (2, Stream::Intake, false) => format!("As an intake {}", uncapital(&words)),
                (2, Stream::Exhaust, false) => format!("As an exhaust {}", uncapital(&words)),
                _ => words,
            };
            html! { (words) (why_verdict(board, index, *stream, verdict)) }
        }
        None => html! { "The rules say nothing here." },
    };
    let good = judged.map(TerminalReport::holds);
    let thing = Movable::Terminal(index);
    let partner = walls.partner(board.job, index);
    html! {
        (heading(board, thing, &terminal.name))
        (form(board, thing, good, &words, "Centre above the ground"))
        @if let Some(place) = nearest {
            form method="post" data-place action=(board.address(None)) {
                (hidden(board))
                input type="hidden" name="point" value={ (place.at[0]) " " (place.at[1]) };
                button class="quietly" name="do" value="look" {
                    "Move it to the nearest allowed place: " (walls.place_words(place, system))
                }
            }
        } @else if good == Some(false) {
            p { "No place on this wall is allowed for it as things stand. Take another wall, or move what is in the way." }
        }
        @for spot in spots_without(board.known.text(), &terminal.name) {
            p class="caution" {
                "Its duct from "
                @match board.job.spots.get(spot) { Some(spot) => { "the " (spot.name) }, None => { "a spot" } }
                " is not described, so no plan can use it from there. "
                a href=(board.open.address(&format!("/survey/spot/{}/runs", spot + 1))) { "Say how long it is" } "."
            }
        }
        (allowed_for(board, index, regions))
        @for (stream, verdict) in &verdicts {
            (rules(board, index, *stream, verdict))
        }
        (pairs(board, index, partner))
        (removal(board))
    }
}

/// Of what a verdict speaks, explained.
fn why_verdict(board: &Board, terminal: usize, stream: Stream, verdict: &Verdict) -> Markup {
    let judgement = verdict.tightest().filter(|it| it.margin.is_finite());
    html! {
        @if let Some(judgement) = judgement.filter(|_| verdict.fit.holds()) {
            " " a class="figure asks" href=(board.why(Figure::of(terminal, stream, judgement), "")) { "Why" }
        }
    }
}

/// Which part of the wall is allowed for a terminal.
fn allowed_for(board: &Board, terminal: usize, regions: &Regions) -> Markup {
    let two_in_one = board.job.terminals[terminal].two_in_one;
    let at = format!("at={}", word(Movable::Terminal(terminal)));
    html! {
        p {
            "Allowed for it here: "
            @for (place, (stream, region)) in regions.iter().enumerate() {
                @let figure = Figure::Region((!two_in_one).then_some(*stream));
                @if place > 0 { ", " }
                a class="figure" href=(board.why(figure, &at)) { (percent(share(region))) " of the wall" }
                @if regions.len() > 1 { " as " (what(*stream)) }
            }
            "."
        }
    }
}

fn what(stream: Stream) -> &'static str {
    match stream {
        Stream::Intake => "an intake",
        Stream::Exhaust => "an exhaust",
    }
}

fn rules(board: &Board, terminal: usize, stream: Stream, verdict: &Verdict) -> Markup {
    let what = what(stream);
    let list = board.walls.telling(verdict, board.index);
    html! {
        section {
            h3 { (board.walls.allowed_words(what, verdict)) }
            @for (holds, words) in [(Some(false), None), (Some(true), Some("kept")), (None, Some("shown only, from memory and in doubt"))] {
                @let some: Vec<&Judgement> = list.iter().filter(|judgement| judgement.holds == holds).collect();
                @let rules = html! {
                    ul class="states" { @for judgement in &some { (judged_by(board, terminal, stream, judgement)) } }
                };
                @match (some.len(), words) {
                    (0, _) => {}
                    (_, None) => { (rules) }
                    (count, Some(words)) => {
                        details data-stays={ (what) " " (words) } { summary { (counted(count, "rule is", "rules are")) " " (words) } (rules) }
                    }
                }
            }
        }
    }
}

fn class(judgement: &Judgement) -> &'static str {
    match judgement.holds {
        Some(true) => "good",
        Some(false) => "bad",
        None => "doubtful",
    }
}

/// One rule at one place: what was measured and what is asked; how that comes about on demand.
fn judged_by(board: &Board, terminal: usize, stream: Stream, judgement: &Judgement) -> Markup {
    let words = board
        .walls
        .measured_and_asked(judgement, board.index, board.system());
    html! {
        li class=(class(judgement)) {
            span class="shape" aria-hidden="true" {}
            strong { (capital(state(judgement))) ". " }
            a class="figure" href=(board.why(Figure::of(terminal, stream, judgement), "")) { (capital(&words)) } "."
            span class="quiet" { " " (board.walls.demand(judgement).id()) }
        }
    }
}

/// How it goes with the terminals that could be the other one.
fn pairs(board: &Board, index: usize, partner: Option<usize>) -> Markup {
    let list: Vec<_> = board
        .report
        .pairs
        .iter()
        .filter(|pair| {
            pair.intake != pair.exhaust && (pair.intake == index || pair.exhaust == index)
        })
        .collect();
    let system = board.system();
    html! {
        @if !list.is_empty() {
            section {
                h3 { "As one of a pair" }
                ul class="states" {
                    @for pair in list {
                        @let (other, role) = if pair.intake == index { (pair.exhaust, "exhaust") } else { (pair.intake, "intake") };
                        @let own = board.walls.between(&pair.verdict);
                        @let worst = own.iter().min_by(|one, other| one.margin.total_cmp(&other.margin));
                        li class=(if pair.verdict.holds() { "good" } else { "bad" }) {
                            span class="shape" aria-hidden="true" {}
                            "With " (board.job.terminals[other].name) " as the " (role) ": " (board.walls.pair_state(&pair.verdict)) "."
                            @if let Some(worst) = worst {
                                @let (of, stream, with) = board.walls.made_for(worst, pair);
                                @let with = format!("with={}", word(Movable::Terminal(with)));
                                " " a class="figure" href=(board.why(Figure::of(of, stream, worst), &with)) {
                                    (capital(&board.walls.judgement_words(worst, board.index, system)))
                                } "."
                            }
                            @if partner == Some(other) { span class="quiet" { " The rules above are judged beside it." } }
                        }
                    }
                }
            }
        }
    }
}

fn object(board: &Board, index: usize, regions: &Regions) -> Markup {
    let object = &board.wall().objects[index];
    let thing = Movable::Object(index);
    let before = board.open.known.job().and_then(|job| {
        let (walls, report) = board.open.known.sited(job).ok()?;
        Some((board.open.known.regions(walls, board.index), report))
    });
    let shares = html! {
        "Allowed: "
        @for (place, (stream, region)) in regions.iter().enumerate() {
            @let now = percent(share(region));
            @let was = before.as_ref().and_then(|(regions, _)| {
                let (_, region) = regions.iter().find(|(other, _)| other == stream)?;
                Some(percent(share(region)))
            });
            @if place > 0 { "; " }
            a class="figure" href=(board.why(Figure::Region(Some(*stream)), "")) { (now) " of the wall for " (what(*stream)) }
            @if let Some(was) = was.filter(|was| *was != now) { ", " (was) " as kept" }
        }
        "."
    };
    let spoiled = |known: &TerminalReport| {
        let was = before.as_ref().and_then(|(_, report)| {
            let mut list = report.terminals.iter();
            list.find(|other| other.terminal == known.terminal)
        });
        was.is_some_and(|was| was.holds()) && !known.holds()
    };
    let spoils = board
        .report
        .terminals
        .iter()
        .filter(|known| spoiled(known))
        .count();
    let good = if spoils > 0 { Some(false) } else { Some(true) };
    html! {
        (heading(board, thing, &object.name))
        @if object.name != object.kind.name() { p { (capital(object.kind.name())) "." } }
        (form(board, thing, good, &shares, "Lower edge above the level line"))
        @if !board.report.terminals.is_empty() {
            section {
                h3 { "What this means for the hoods" }
                ul class="states" {
                    @for known in &board.report.terminals {
                        @let terminal = &board.job.terminals[known.terminal];
                        li class=(if known.holds() { "good" } else { "bad" }) {
                            span class="shape" aria-hidden="true" {}
                            (capital(&terminal.name)) ": "
                            (terminal_words(board, known))
                            @if spoiled(known) { strong { " It kept every rule before." } }
                        }
                    }
                }
            }
        }
        (removal(board))
    }
}

/// A terminal in a sentence, as the worse of what it may be.
fn terminal_words(board: &Board, known: &TerminalReport) -> Markup {
    let intake = known.intake.iter().map(|it| (Stream::Intake, it));
    let exhaust = known.exhaust.iter().map(|it| (Stream::Exhaust, it));
    let worst = intake.chain(exhaust).min_by(|(_, one), (_, other)| {
        one.fit
            .holds()
            .cmp(&other.fit.holds())
            .then(one.margin().total_cmp(&other.margin()))
    });
    let Some((stream, verdict)) = worst else {
        return html! { "the rules say nothing." };
    };
    let wall = known.place.wall;
    let words = board.walls.verdict_words(verdict, wall, board.system());
    html! { (uncapital(&words)) (why_verdict(board, known.terminal, stream, verdict)) }
}

/// The text as it goes on within a sentence.
fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_lowercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    match percent {
        p if p <= 0.0 => "none".to_owned(),
        p if p < 1.0 => "less than 1 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

fn whole_wall(board: &Board, regions: &Regions) -> Markup {
    let wall = board.wall();
    let of_wall: Vec<&TerminalReport> = board
        .report
        .terminals
        .iter()
        .filter(|known| known.place.wall == board.index)
        .collect();
    html! {
        h2 { "What this wall allows" }
        p {
            @for (stream, region) in regions {
                @let what = what(*stream);
                a class="figure" href=(board.why(Figure::Region(Some(*stream)), "")) {
                    @match percent(share(region)).as_str() {
                        "none" => { "No place for " (what) }
                        share => { (capital(share)) " of the wall for " (what) }
                    }
                }
                ". "
            }
            "Hatched is not allowed; the broken lines are how far each rule reaches, the thin grey ones that of rules that are shown only."
        }
        @if let Some(why) = &board.moved.wrong { p class="error" role="alert" { (why) } }
        p class="unprinted" { "Choose a thing to move it: tap it in the drawing, or here." }
        ul class="things" {
            @for known in &of_wall {
                @let terminal = &board.job.terminals[known.terminal];
                li class=(if known.holds() { "good" } else { "bad" }) {
                    span class="shape" aria-hidden="true" {}
                    a data-choose href=(board.address(Some(Movable::Terminal(known.terminal)))) { (capital(&terminal.name)) }
                    span class="quiet" {
                        @match (known.holds(), board.walls.has_rival(&board.report.pairs, known.terminal)) {
                            (true, false) => " keeps every rule that decides",
                            (true, true) => " alone keeps every rule that decides; another hood is too near",
                            (false, _) => " is not allowed where it is",
                        }
                    }
                }
            }
            @for (index, object) in wall.objects.iter().enumerate() {
                li {
                    a data-choose href=(board.address(Some(Movable::Object(index)))) { (capital(&object.name)) }
                    span class="quiet" { " " (board.object_place(object)) }
                }
            }
        }
        (best(board))
        (adding(board))
    }
}

fn best(board: &Board) -> Markup {
    html! {
        section class="unprinted" {
            h3 { "A new hood where it has the most room" }
            form method="post" action=(board.address(None)) class="choices" {
                (hidden(board))
                @for (what, words) in [("best-intake", "Put an intake"), ("best-exhaust", "Put an exhaust"), ("best-two-in-one", "Put a two-in-one hood")] {
                    button class="quietly" name="do" value=(what) { (words) }
                }
            }
            p class="hint" { "An intake or exhaust keeps its distance from the other one, where there is one only." }
        }
    }
}

fn adding(board: &Board) -> Markup {
    let sent = |name: &str| {
        let found = board.moved.sent.iter().find(|(field, _)| field == name);
        found.map(|(_, value)| value.as_str()).unwrap_or_default()
    };
    let chosen = sent("kind");
    let hoods = ["new intake", "new exhaust", "new two-in-one hood"];
    html! {
        section class="unprinted" {
            h3 { "Add what is on the wall or before it" }
            form method="post" class="adding" data-add action=(board.address(None)) {
                (hidden(board))
                label for="kind" { "What it is" }
                select id="kind" name="kind" {
                    option value="" { "choose" }
                    optgroup label="Hoods of the ventilator" {
                        @for hood in hoods { option value=(hood) selected[hood == chosen] { (hood) } }
                    }
                    optgroup label="What is there" {
                        @for kind in kinds() { option value=(kind) selected[kind == chosen] { (kind) } }
                    }
                }
                p class="hint" data-tap hidden { "Tap the wall where its lower left corner is to be, for a hood its centre." }
                div class="lengths" {
                    @for (name, label) in [
                        ("along", "Left edge along the wall; of a hood the centre"),
                        ("up", "Lower edge above the level line; of a hood the centre above the ground"),
                        ("width", "Width"), ("height", "Height"),
                        ("out", "Distance from the wall"), ("depth", "Depth outward"),
                    ] {
                        div {
                            label for={ "new-" (name) } { (label) }
                            input id={ "new-" (name) } name=(name) value=(sent(name)) autocomplete="off" spellcheck="false";
                        }
                    }
                }
                p class="hint" { "Like 9 ft 4 in or 2.85 m. A usual size is assumed for most things; a window and what lies before the wall need theirs." }
                button name="do" value="add" { "Add it" }
            }
        }
    }
}
