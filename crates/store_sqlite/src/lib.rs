//! Histories of jobs in one SQLite file.
//!
//! [`Sqlite`] keeps the promises of [`Store`]: an event is acknowledged only after SQLite has written
//! it through to the disk (write-ahead log, `synchronous = full`); triggers refuse to change or remove
//! an event; every writer takes the write lock first (`begin immediate`), so that of two that expect
//! the same version one gets [`StoreError::Moved`], not a database error. Several processes may use
//! one file.
//!
//! Each call does its work at once and blocks for it: about 4 ms for an event, the time of the disk.

use std::future::ready;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior, params};
use store::{Answer, Change, Document, Event, Head, Key, Kind, Store, StoreError};

/// The form of the tables. A file of an earlier form is brought up to it, one of a later form is not
/// touched.
const FORM: i64 = 3;

/// How long a writer waits for another one.
const PATIENCE: Duration = Duration::from_secs(10);

/// `head` only repeats the end of `event`, so that a list need not replay histories.
const TABLES: &str = "
create table event (
    kind text not null,
    name text not null,
    version integer not null check (version > 0),
    at integer not null,
    change text not null,
    primary key (kind, name, version)
) strict;
create trigger event_stays before update on event
    begin select raise(abort, 'an event is never changed'); end;
create trigger event_is_kept before delete on event
    begin select raise(abort, 'an event is never removed'); end;
create table head (
    kind text not null,
    name text not null,
    version integer not null,
    at integer not null,
    title text not null,
    text text not null,
    primary key (kind, name)
) strict;
";

/// What form 2 added.
const ATTACHMENTS: &str = "
create table attachment (
    kind text not null,
    name text not null,
    file text not null,
    bytes blob not null,
    primary key (kind, name, file)
) strict;
create trigger attachment_stays before update on attachment
    begin select raise(abort, 'an attachment is never changed'); end;
create trigger attachment_is_kept before delete on attachment
    begin select raise(abort, 'an attachment is never removed'); end;
";
/// What form 3 changed: it knows what is put away, and its index holds all that a list shows, so that
/// a list reads no texts.
const AWAY: &str = "
alter table head add column away integer not null default 0;
drop index if exists head_by_time;
create index head_by_time_3 on head (kind, at desc, name, version, title, away);
";

/// What leads from each form to the next.
const CHANGES: [&str; FORM as usize] = [TABLES, ATTACHMENTS, AWAY];

/// A store in one SQLite file.
#[derive(Debug)]
pub struct Sqlite {
    connection: Mutex<Connection>,
}

impl Sqlite {
    /// Opens a file, which is made if it is not there.
    ///
    /// # Errors
    ///
    /// [`StoreError::Failed`] if the file cannot be opened, is none of SQLite, or was written by a
    /// later version of the program.
    pub fn open(file: &Path) -> Result<Self, StoreError> {
        Self::prepare(Connection::open(file).map_err(failed)?)
    }

    fn prepare(mut connection: Connection) -> Result<Self, StoreError> {
        connection.busy_timeout(PATIENCE).map_err(failed)?;
        connection
            .pragma_update(None, "journal_mode", "wal")
            .and_then(|()| connection.pragma_update(None, "synchronous", "full"))
            .and_then(|()| connection.pragma_update(None, "trusted_schema", "off"))
            .map_err(failed)?;
        let form = |connection: &Connection| {
            connection.query_row("pragma user_version", [], |row| row.get::<_, i64>(0))
        };
        if (0..FORM).contains(&form(&connection).map_err(failed)?) {
            let transaction = connection
                .transaction_with_behavior(TransactionBehavior::Immediate)
                .map_err(failed)?;
            // Another process may have been quicker.
            let found = form(&transaction).map_err(failed)?;
            let missing = usize::try_from(found)
                .ok()
                .and_then(|found| CHANGES.get(found..));
            for change in missing.unwrap_or_default() {
                transaction.execute_batch(change).map_err(failed)?;
            }
            transaction
                .pragma_update(None, "user_version", FORM.max(found))
                .and_then(|()| transaction.commit())
                .map_err(failed)?;
        }
        match form(&connection).map_err(failed)? {
            FORM => Ok(Self {
                connection: Mutex::new(connection),
            }),
            other => Err(StoreError::Failed(format!(
                "the file has form {other}, this program knows form {FORM}: use a later version of it"
            ))),
        }
    }

    fn connection(&self) -> MutexGuard<'_, Connection> {
        // A transaction that was broken off has been rolled back.
        self.connection
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }

    fn add(&self, key: &Key, event: &Event, document: &Document) -> Result<(), StoreError> {
        let (kind, name) = (key.kind().name(), key.name());
        let mut connection = self.connection();
        let transaction = connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(failed)?;
        let now: u64 = transaction
            .query_row(
                "select coalesce(max(version), 0) from event where kind = ?1 and name = ?2",
                params![kind, name],
                |row| row.get(0),
            )
            .map_err(failed)?;
        if event.version != now + 1 {
            return Err(StoreError::Moved { now });
        }
        transaction
            .execute(
                "insert into event (kind, name, version, at, change) values (?1, ?2, ?3, ?4, ?5)",
                params![kind, name, event.version, event.at, event.change.to_line()],
            )
            .and_then(|_| {
                transaction.execute(
                    "insert into head (kind, name, version, at, title, text, away)
                     values (?1, ?2, ?3, ?4, ?5, ?6, ?7)
                     on conflict (kind, name) do update set version = excluded.version,
                     at = excluded.at, title = excluded.title, text = excluded.text,
                     away = excluded.away",
                    params![
                        kind,
                        name,
                        event.version,
                        event.at,
                        document.title(),
                        document.text(),
                        document.away()
                    ],
                )
            })
            .map_err(failed)?;
        transaction.commit().map_err(failed)
    }

    fn events(&self, key: &Key) -> Result<Vec<Event>, StoreError> {
        let connection = self.connection();
        let mut statement = connection
            .prepare_cached(
                "select version, at, change from event where kind = ?1 and name = ?2
                 order by version",
            )
            .map_err(failed)?;
        let rows = statement
            .query_map(params![key.kind().name(), key.name()], |row| {
                Ok((row.get(0)?, row.get(1)?, row.get::<_, String>(2)?))
            })
            .map_err(failed)?;
        let mut events = Vec::new();
        for row in rows {
            let (version, at, line) = row.map_err(failed)?;
            let change = Change::from_line(&line).map_err(|why| {
                StoreError::Failed(format!("event {version} of {key} cannot be read: {why}"))
            })?;
            events.push(Event::new(version, at, change));
        }
        if events.is_empty() {
            return Err(StoreError::Unknown(key.clone()));
        }
        Ok(events)
    }

    fn end(&self, key: &Key) -> Result<(Head, String), StoreError> {
        let connection = self.connection();
        let found = connection
            .prepare_cached(
                "select version, at, title, text, away from head where kind = ?1 and name = ?2",
            )
            .and_then(|mut statement| {
                statement
                    .query_row(params![key.kind().name(), key.name()], |row| {
                        let head = Head {
                            key: key.clone(),
                            version: row.get(0)?,
                            at: row.get(1)?,
                            title: row.get(2)?,
                            away: row.get(4)?,
                        };
                        Ok((head, row.get(3)?))
                    })
                    .optional()
            })
            .map_err(failed)?;
        found.ok_or_else(|| StoreError::Unknown(key.clone()))
    }

    fn keep(&self, key: &Key, file: &str, bytes: &[u8]) -> Result<(), StoreError> {
        self.connection()
            .execute(
                "insert into attachment (kind, name, file, bytes) values (?1, ?2, ?3, ?4)
                 on conflict do nothing",
                params![key.kind().name(), key.name(), file, bytes],
            )
            .map(|_| ())
            .map_err(failed)
    }

    fn kept(&self, key: &Key, file: &str) -> Result<Option<Vec<u8>>, StoreError> {
        self.connection()
            .query_row(
                "select bytes from attachment where kind = ?1 and name = ?2 and file = ?3",
                params![key.kind().name(), key.name(), file],
                |row| row.get(0),
            )
            .optional()
            .map_err(failed)
    }

    fn ends(&self, kind: Kind) -> Result<Vec<Head>, StoreError> {
        let connection = self.connection();
        let mut statement = connection
            .prepare_cached(
                "select name, version, at, title, away from head where kind = ?1
                 order by at desc, name",
            )
            .map_err(failed)?;
        let rows = statement
            .query_map(params![kind.name()], |row| {
                Ok((
                    row.get::<_, String>(0)?,
                    row.get(1)?,
                    row.get(2)?,
                    row.get(3)?,
                    row.get(4)?,
                ))
            })
            .map_err(failed)?;
        let mut heads = Vec::new();
        for row in rows {
            let (name, version, at, title, away) = row.map_err(failed)?;
            // Names were keys when they were written.
            heads.extend(Key::new(kind, &name).map(|key| Head {
                key,
                version,
                at,
                title,
                away,
            }));
        }
        Ok(heads)
    }
}

fn failed(error: rusqlite::Error) -> StoreError {
    StoreError::Failed(error.to_string())
}

impl Store for Sqlite {
    fn append<'a>(
        &'a self,
        key: &'a Key,
        event: &'a Event,
        document: &'a Document,
    ) -> Answer<'a, ()> {
        Box::pin(ready(self.add(key, event, document)))
    }

    fn history<'a>(&'a self, key: &'a Key) -> Answer<'a, Vec<Event>> {
        Box::pin(ready(self.events(key)))
    }

    fn current<'a>(&'a self, key: &'a Key) -> Answer<'a, (Head, String)> {
        Box::pin(ready(self.end(key)))
    }

    fn attach<'a>(&'a self, key: &'a Key, name: &'a str, bytes: &'a [u8]) -> Answer<'a, ()> {
        Box::pin(ready(self.keep(key, name, bytes)))
    }

    fn attached<'a>(&'a self, key: &'a Key, name: &'a str) -> Answer<'a, Option<Vec<u8>>> {
        Box::pin(ready(self.kept(key, name)))
    }

    fn heads(&self, kind: Kind) -> Answer<'_, Vec<Head>> {
        Box::pin(ready(self.ends(kind)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_of_the_first_form_is_brought_to_this_one() {
        let connection = Connection::open_in_memory().expect("a database");
        connection.execute_batch(TABLES).expect("the first form");
        connection
            .pragma_update(None, "user_version", 1)
            .expect("the first form");
        connection
            .execute_batch(
                "insert into event values ('job', 'old', 1, 5, '{\"kind\":\"began\",\"text\":\"a\"}');
                 insert into head values ('job', 'old', 1, 5, 'Old', 'a');",
            )
            .expect("a job of then");
        let store = Sqlite::prepare(connection).expect("it is brought to this form");
        let heads = store.ends(Kind::Job).expect("a list");
        assert_eq!((heads.len(), heads[0].away, heads[0].at), (1, false, 5));
        let key = heads[0].key.clone();
        let mut document = Document::replay(&store.events(&key).expect("events")).expect("sound");
        let event = Event::new(2, 6, Change::PutAway);
        document.take(&event).expect("it follows");
        store.add(&key, &event, &document).expect("it is written");
        assert!(store.ends(Kind::Job).expect("a list")[0].away);
        assert!(store.end(&key).expect("it is there").0.away);
    }
}
