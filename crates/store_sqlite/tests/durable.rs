//! What was acknowledged is found again, whatever happens to the process that wrote it.

use std::future::Future;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::pin::pin;
use std::process::{Command, Stdio};
use std::task::{Context, Poll, Waker};
use std::time::Duration;

use store::{Change, Document, Event, Key, Kind, Splice, Store, StoreError};
use store_sqlite::Sqlite;

/// The answer of a store that does its work at once.
fn now<T>(answer: impl Future<Output = T>) -> T {
    match pin!(answer).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(value) => value,
        Poll::Pending => panic!("it does its work at once"),
    }
}

fn key() -> Key {
    Key::new(Kind::Job, "house").expect("a name")
}

fn open(folder: &Path) -> Sqlite {
    Sqlite::open(&folder.join("jobs.sqlite")).expect("the file can be opened")
}

fn begin(store: &Sqlite, text: &str) -> Document {
    let began = Event::new(1, 0, Change::Began { text: text.into() });
    let document = Document::replay([&began]).expect("a history");
    now(store.append(&key(), &began, &document)).expect("it can be written");
    document
}

/// Appends the next change: the text becomes `count = N` with N the version.
fn append(store: &Sqlite, document: &mut Document) -> Result<u64, StoreError> {
    let version = document.version() + 1;
    let splice = Splice::between(document.text(), &format!("count = {version}\n"));
    let event = Event::new(
        version,
        7,
        Change::Edited {
            what: "count".into(),
            splice,
        },
    );
    document.take(&event).expect("it follows");
    now(store.append(&key(), &event, document)).map(|()| version)
}

#[test]
fn a_history_is_found_after_reopening() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "\u{feff}name = \"Hütte\"\r\n# the end";
    let store = open(folder.path());
    let mut document = begin(&store, text);
    let named = Event::new(
        2,
        5,
        Change::Named {
            name: "as found".into(),
        },
    );
    document.take(&named).expect("it follows");
    now(store.append(&key(), &named, &document)).expect("it can be written");
    drop(store);

    let store = open(folder.path());
    let (head, found) = now(store.current(&key())).expect("it is there");
    assert_eq!((head.version, head.at, found.as_str()), (2, 5, text));
    let events = now(store.history(&key())).expect("it is there");
    assert_eq!(Document::replay(&events), Ok(document.clone()));
    let heads = now(store.heads(Kind::Job)).expect("a list");
    assert_eq!(heads, [head]);
    assert_eq!(now(store.heads(Kind::Catalogue)), Ok(vec![]));
    // An event that does not follow is refused, with the version at which the history ends.
    let again = now(store.append(&key(), &named, &document));
    assert_eq!(again, Err(StoreError::Moved { now: 2 }));
}

#[test]
fn of_two_writers_one_wins_each_version() {
    let folder = tempfile::tempdir().expect("a folder");
    begin(&open(folder.path()), "count = 1\n");
    let writer = || {
        let store = open(folder.path());
        let (mut won, mut lost) = (0u64, 0u64);
        while won + lost < 40 {
            let events = now(store.history(&key())).expect("it is there");
            let mut document = Document::replay(&events).expect("a history");
            match append(&store, &mut document) {
                Ok(_) => won += 1,
                Err(StoreError::Moved { .. }) => lost += 1,
                Err(other) => panic!("{other}"),
            }
        }
        won
    };
    let won: u64 = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..2).map(|_| scope.spawn(writer)).collect();
        writers
            .into_iter()
            .map(|writer| writer.join().expect("a writer"))
            .sum()
    });
    let events = now(open(folder.path()).history(&key())).expect("it is there");
    assert_eq!(events.len() as u64, won + 1);
    assert!(Document::replay(&events).is_ok());
}

#[test]
fn attachments_are_found_after_reopening_and_stay() {
    let folder = tempfile::tempdir().expect("a folder");
    // A file of the first form, which knew no attachments.
    let store = open(folder.path());
    begin(&store, "count = 1\n");
    drop(store);
    let connection = rusqlite::Connection::open(folder.path().join("jobs.sqlite")).expect("open");
    connection
        .execute_batch(
            "drop table attachment; drop index head_by_time_3; alter table head drop column away;
             pragma user_version = 1;",
        )
        .expect("the earlier form");
    drop(connection);

    let store = open(folder.path());
    let photo = [0xff, 0xd8, 0xff, 0x00, 0x27];
    assert_eq!(now(store.attached(&key(), "a.jpg")), Ok(None));
    assert_eq!(now(store.attach(&key(), "a.jpg", &photo)), Ok(()));
    assert_eq!(now(store.attach(&key(), "a.jpg", b"other")), Ok(()));
    drop(store);
    let store = open(folder.path());
    assert_eq!(
        now(store.attached(&key(), "a.jpg")),
        Ok(Some(photo.to_vec()))
    );
    let other = Key::new(Kind::Journal, "house").expect("a name");
    assert_eq!(now(store.attached(&other, "a.jpg")), Ok(None));
    assert_eq!(now(store.current(&key())).expect("a text").1, "count = 1\n");
}

#[test]
fn events_and_attachments_cannot_be_changed_or_removed() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = open(folder.path());
    begin(&store, "count = 1\n");
    now(store.attach(&key(), "a.jpg", b"photo")).expect("it can be written");
    let connection = rusqlite::Connection::open(folder.path().join("jobs.sqlite")).expect("open");
    for tampering in [
        "update event set at = 1",
        "delete from event",
        "update attachment set bytes = x'00'",
        "delete from attachment",
    ] {
        let error = connection
            .execute(tampering, [])
            .expect_err("it is refused");
        assert!(error.to_string().contains("never"), "{error}");
    }
}

#[test]
fn files_that_are_not_ours_are_refused_and_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("jobs.sqlite");
    std::fs::write(
        &file,
        "format = 1\nname = \"a job file, not a store of them\"\n".repeat(40),
    )
    .expect("a file");
    let before = std::fs::read(&file).expect("a file");
    assert!(matches!(Sqlite::open(&file), Err(StoreError::Failed(_))));
    assert_eq!(std::fs::read(&file).expect("a file"), before);

    let later = folder.path().join("later.sqlite");
    let connection = rusqlite::Connection::open(&later).expect("open");
    connection
        .pragma_update(None, "user_version", 9)
        .expect("a pragma");
    drop(connection);
    let error = Sqlite::open(&later).expect_err("it is refused");
    assert!(error.to_string().contains("later version"), "{error}");
}

/// Set for the process that is going to be killed: the folder where it writes.
const WRITER: &str = "STORE_SQLITE_TEST_WRITER";

/// Not a test of its own: what the process does that is going to be killed. It appends for ever and
/// says which version was acknowledged.
#[test]
fn writer() {
    let Ok(folder) = std::env::var(WRITER) else {
        return;
    };
    let store = open(Path::new(&folder));
    let events = now(store.history(&key())).expect("it is there");
    let mut document = Document::replay(&events).expect("a history");
    let mut out = std::io::stdout();
    loop {
        let version = append(&store, &mut document).expect("it can be written");
        writeln!(out, "\nacknowledged {version}")
            .and_then(|()| out.flush())
            .expect("a pipe");
    }
}

#[test]
#[cfg(unix)]
fn every_acknowledged_event_survives_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    begin(&open(folder.path()), "count = 1\n");
    let (mut acknowledged, mut rounds_with_events) = (1, 0);
    for round in 0u64..25 {
        let mut child = Command::new(std::env::current_exe().expect("this test"))
            .args(["writer", "--exact", "--nocapture"])
            .env(WRITER, folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("a process");
        let output = child.stdout.take().expect("a pipe");
        let reader = std::thread::spawn(move || {
            BufReader::new(output)
                .lines()
                .map_while(Result::ok)
                .filter_map(|line| line.strip_prefix("acknowledged ")?.parse::<u64>().ok())
                .last()
        });
        // Killed at another moment each time; on unix this is SIGKILL.
        std::thread::sleep(Duration::from_millis(60 + 7 * round));
        child.kill().expect("it can be killed");
        child.wait().expect("it ends");
        if let Some(last) = reader.join().expect("a reader") {
            acknowledged = last;
            rounds_with_events += 1;
        }
        let store = open(folder.path());
        let events = now(store.history(&key())).expect("it is there");
        let document = Document::replay(&events).expect("an unbroken history");
        assert!(
            document.version() >= acknowledged,
            "round {round}: {acknowledged} was acknowledged, {} is there",
            document.version()
        );
        let (head, text) = now(store.current(&key())).expect("it is there");
        assert_eq!(
            (head.version, text.as_str()),
            (document.version(), document.text())
        );
    }
    assert!(
        rounds_with_events > 0 && acknowledged > 25,
        "it wrote too little: {acknowledged}"
    );
}
