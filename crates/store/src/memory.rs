//! A store that lasts as long as the program.

use std::collections::BTreeMap;
use std::future::ready;
use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::{Answer, Document, Event, Head, Key, Kind, Store, StoreError};

/// Histories in memory.
#[derive(Debug, Default)]
pub struct Memory {
    histories: Mutex<BTreeMap<Key, History>>,
    attachments: Mutex<BTreeMap<(Key, String), Vec<u8>>>,
}

#[derive(Debug)]
struct History {
    events: Vec<Event>,
    text: String,
    title: String,
    away: bool,
}

impl Memory {
    /// An empty store.
    pub fn new() -> Self {
        Self::default()
    }

    fn histories(&self) -> MutexGuard<'_, BTreeMap<Key, History>> {
        // No code that holds the lock can leave a history half-written.
        self.histories
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }

    fn attachments(&self) -> MutexGuard<'_, BTreeMap<(Key, String), Vec<u8>>> {
        self.attachments
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }

    fn add(&self, key: &Key, event: &Event, document: &Document) -> Result<(), StoreError> {
        let mut histories = self.histories();
        let now = histories
            .get(key)
            .and_then(|history| Some(history.events.last()?.version))
            .unwrap_or(0);
        if event.version != now + 1 {
            return Err(StoreError::Moved { now });
        }
        let history = histories.entry(key.clone()).or_insert_with(|| History {
            events: Vec::new(),
            text: String::new(),
            title: String::new(),
            away: false,
        });
        history.events.push(event.clone());
        document.text().clone_into(&mut history.text);
        history.title = document.title();
        history.away = document.away();
        Ok(())
    }
}

impl Store for Memory {
    fn append<'a>(
        &'a self,
        key: &'a Key,
        event: &'a Event,
        document: &'a Document,
    ) -> Answer<'a, ()> {
        Box::pin(ready(self.add(key, event, document)))
    }

    fn history<'a>(&'a self, key: &'a Key) -> Answer<'a, Vec<Event>> {
        let found = self.histories().get(key).map(|found| found.events.clone());
        Box::pin(ready(found.ok_or_else(|| StoreError::Unknown(key.clone()))))
    }

    fn current<'a>(&'a self, key: &'a Key) -> Answer<'a, (Head, String)> {
        let found = self
            .histories()
            .get(key)
            .and_then(|history| Some((head(key, history)?, history.text.clone())));
        Box::pin(ready(found.ok_or_else(|| StoreError::Unknown(key.clone()))))
    }

    fn attach<'a>(&'a self, key: &'a Key, name: &'a str, bytes: &'a [u8]) -> Answer<'a, ()> {
        self.attachments()
            .entry((key.clone(), name.to_owned()))
            .or_insert_with(|| bytes.to_vec());
        Box::pin(ready(Ok(())))
    }

    fn attached<'a>(&'a self, key: &'a Key, name: &'a str) -> Answer<'a, Option<Vec<u8>>> {
        let found = self
            .attachments()
            .get(&(key.clone(), name.to_owned()))
            .cloned();
        Box::pin(ready(Ok(found)))
    }

    fn heads(&self, kind: Kind) -> Answer<'_, Vec<Head>> {
        let mut heads: Vec<Head> = self
            .histories()
            .iter()
            .filter(|(key, _)| key.kind() == kind)
            .filter_map(|(key, history)| head(key, history))
            .collect();
        heads.sort_by(|one, other| other.at.cmp(&one.at).then(one.key.cmp(&other.key)));
        Box::pin(ready(Ok(heads)))
    }
}

fn head(key: &Key, history: &History) -> Option<Head> {
    let last = history.events.last()?;
    Some(Head {
        key: key.clone(),
        version: last.version,
        at: last.at,
        title: history.title.clone(),
        away: history.away,
    })
}
