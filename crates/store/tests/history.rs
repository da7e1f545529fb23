//! Histories: undo and redo as events, two writers, texts that come back byte by byte.

use std::future::Future;
use std::pin::pin;
use std::task::{Context, Poll, Waker};

use proptest::prelude::*;
use store::memory::Memory;
use store::{Change, Document, Event, Key, Kind, Splice, Store, StoreError};

/// The answer of a store that never waits.
fn now<T>(answer: impl Future<Output = T>) -> T {
    match pin!(answer).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(value) => value,
        Poll::Pending => panic!("memory never waits"),
    }
}

fn edit(document: &Document, after: &str) -> Change {
    Change::Edited {
        what: "text".into(),
        splice: Splice::between(document.text(), after),
    }
}

#[test]
fn two_writers_cannot_overwrite_each_other() {
    let store = Memory::new();
    let key = Key::new(Kind::Job, "house").expect("a name");
    let began = Event::new(
        1,
        10,
        Change::Began {
            text: "name = \"House\"\n".into(),
        },
    );
    let mut job = Document::replay([&began]).expect("a history");
    assert_eq!(now(store.append(&key, &began, &job)), Ok(()));
    let event = Event::new(2, 20, edit(&job, "name = \"Home\"\n"));
    job.take(&event).expect("it follows");
    assert_eq!(now(store.append(&key, &event, &job)), Ok(()));
    // The other writer still believes in version 1.
    assert_eq!(
        now(store.append(&key, &event, &job)),
        Err(StoreError::Moved { now: 2 })
    );
    let (head, text) = now(store.current(&key)).expect("it is there");
    assert_eq!(
        (head.version, head.at, head.title.as_str()),
        (2, 20, "Home")
    );
    assert_eq!(text, "name = \"Home\"\n");
    assert_eq!(
        now(store.history(&key)).expect("it is there"),
        [began, event]
    );
    let other = Key::new(Kind::Job, "none").expect("a name");
    assert_eq!(
        now(store.current(&other)),
        Err(StoreError::Unknown(other.clone()))
    );
}

#[test]
fn broken_histories_are_noticed() {
    let began = Event::new(1, 0, Change::Began { text: "a".into() });
    let wrong = Splice {
        at: 0,
        removed: "b".into(),
        inserted: "c".into(),
    };
    let edited = Change::Edited {
        what: String::new(),
        splice: wrong,
    };
    let facts = [
        vec![],
        vec![Event::new(2, 0, began.change.clone())],
        vec![Event::new(1, 0, Change::Undone { of: 1 })],
        vec![began.clone(), Event::new(3, 0, edited.clone())],
        vec![began.clone(), Event::new(2, 0, edited)],
        vec![began.clone(), Event::new(2, 0, Change::Undone { of: 1 })],
        vec![began.clone(), Event::new(2, 0, Change::Redone { of: 1 })],
        vec![began.clone(), Event::new(2, 0, began.change.clone())],
    ];
    for events in facts {
        assert!(Document::replay(&events).is_err(), "{events:?}");
    }
}

#[test]
fn what_grows_cannot_be_undone() {
    let events = [
        Event::new(1, 0, Change::Began { text: "a\n".into() }),
        Event::new(2, 0, Change::Appended { text: "b\n".into() }),
    ];
    let document = Document::replay(&events).expect("a history");
    assert_eq!(document.text(), "a\nb\n");
    assert_eq!(document.undo(), None);
    let line = events[1].change.to_line();
    assert_eq!(Change::from_line(&line), Ok(events[1].change.clone()));
}

#[test]
fn what_is_put_away_can_be_taken_out() {
    let began = Event::new(1, 0, Change::Began { text: "a".into() });
    let mut document = Document::replay([&began]).expect("a history");
    for (version, change, away) in [
        (2, Change::PutAway, true),
        (3, Change::TakenOut, false),
        (4, Change::PutAway, true),
    ] {
        assert_eq!(Change::from_line(&change.to_line()), Ok(change.clone()));
        document
            .take(&Event::new(version, 0, change))
            .expect("it follows");
        assert_eq!((document.away(), document.text()), (away, "a"));
        // It is no change of the text, so there is nothing to undo.
        assert_eq!(document.undo(), None);
    }
}

proptest! {
    /// A text with an undo list, kept the plain way, against the history.
    #[test]
    fn undo_and_redo_behave_as_lists_of_texts(
        start in "[a-c\r\n#é\u{feff}]{0,8}",
        steps in prop::collection::vec((0u8..4, "[a-c\r\né]{0,6}"), 0..30)
    ) {
        let mut events = vec![Event::new(1, 0, Change::Began { text: start.clone() })];
        let mut document = Document::replay(&events).expect("a history");
        let (mut past, mut present, mut future) = (Vec::new(), start, Vec::new());
        for (kind, text) in steps {
            let change = match kind {
                0 => document.undo(),
                1 => document.redo(),
                2 => Some(Change::Named { name: text.clone() }),
                _ => Some(edit(&document, &text)),
            };
            match kind {
                0 => if let Some(before) = past.pop() {
                    future.push(std::mem::replace(&mut present, before));
                } else { prop_assert!(change.is_none()) },
                1 => if let Some(after) = future.pop() {
                    past.push(std::mem::replace(&mut present, after));
                } else { prop_assert!(change.is_none()) },
                2 => {}
                _ => {
                    past.push(std::mem::replace(&mut present, text));
                    future.clear();
                }
            }
            if let Some(change) = change {
                let line = change.to_line();
                prop_assert_eq!(Change::from_line(&line), Ok(change.clone()));
                let event = Event::new(document.version() + 1, 0, change);
                document.take(&event).expect("it follows");
                events.push(event);
            }
            prop_assert_eq!(document.text(), present.as_str());
        }
        prop_assert_eq!(Document::replay(&events).expect("a history"), document);
    }
}
