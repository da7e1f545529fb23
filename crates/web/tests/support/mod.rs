//! The workspace without a socket: requests in, pages out.
#![allow(dead_code)] // Not every test uses all of it.

use std::future::Future;
use std::pin::pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::task::{Context, Poll, Waker};

use axum::Router;
use axum::body::{Body, HttpBody as _};
use axum::http::{HeaderMap, Request, StatusCode, header};
use store::memory::Memory;
use store::{Change, Document, Event, Key, Kind, Store};
use tower::ServiceExt as _;
use web::{Hosts, Work, Workspace};

pub const EXAMPLES: [(&str, &str); 5] = [
    ("light", include_str!("../../../../examples/light.toml")),
    (
        "duluth-furnace",
        include_str!("../../../../examples/duluth-furnace.toml"),
    ),
    (
        "duluth-set-up",
        include_str!("../../../../examples/duluth-set-up.toml"),
    ),
    (
        "flagstaff-crawlspace",
        include_str!("../../../../examples/flagstaff-crawlspace.toml"),
    ),
    (
        "tallahassee-heat-pump",
        include_str!("../../../../examples/tallahassee-heat-pump.toml"),
    ),
];
pub const CATALOGUE: &str = include_str!("../../../../examples/catalogue.toml");

/// Nothing here waits for anything outside.
pub fn now<T>(answer: impl Future<Output = T>) -> T {
    let mut answer = pin!(answer);
    for _ in 0..10_000 {
        if let Poll::Ready(value) = answer
            .as_mut()
            .poll(&mut Context::from_waker(Waker::noop()))
        {
            return value;
        }
    }
    panic!("it waits for something outside");
}

pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn location(&self) -> &str {
        let location = self.headers.get(header::LOCATION).expect("a redirect");
        location.to_str().expect("plain text")
    }

    pub fn has(&self, words: &str) -> bool {
        self.text().contains(words)
    }
}

pub struct Desk {
    pub router: Router,
    pub store: Arc<Memory>,
}

impl Desk {
    pub fn new() -> Self {
        Self::working(Arc::new(|work| work(&|| ())))
    }

    /// A desk whose slow work is done by this.
    pub fn working(background: Arc<dyn Fn(Work) + Send + Sync>) -> Self {
        let store = Arc::new(Memory::new());
        let clock = AtomicI64::new(1_700_000_000);
        let router = web::router(Workspace {
            store: Arc::clone(&store) as Arc<dyn Store>,
            clock: Arc::new(move || clock.fetch_add(60, Ordering::Relaxed)),
            // Five hours behind UTC.
            zone: Arc::new(|_| -300),
            background,
            hosts: Hosts::These(vec!["localhost".into()]),
        });
        let desk = Self { router, store };
        desk.put(Kind::Catalogue, "catalogue.toml", CATALOGUE);
        desk
    }

    pub fn with_examples() -> Self {
        Self::new().holding_examples()
    }

    pub fn holding_examples(self) -> Self {
        let desk = self;
        for (name, text) in EXAMPLES {
            desk.put(Kind::Job, name, text);
        }
        desk
    }

    pub fn put(&self, kind: Kind, name: &str, text: &str) {
        let key = Key::new(kind, name).expect("a name");
        let began = Event::new(1, 0, Change::Began { text: text.into() });
        let document = Document::replay([&began]).expect("a history");
        now(self.store.append(&key, &began, &document)).expect("it is kept");
    }

    pub fn text(&self, name: &str) -> String {
        let key = Key::new(Kind::Job, name).expect("a name");
        now(self.store.current(&key)).expect("it is there").1
    }

    pub fn send(&self, request: Request<Body>) -> Answer {
        let answer = now(self.router.clone().oneshot(request)).expect("always an answer");
        let (parts, mut body) = answer.into_parts();
        let mut bytes = Vec::new();
        while let Some(frame) = now(std::future::poll_fn(|context| {
            std::pin::Pin::new(&mut body).poll_frame(context)
        })) {
            if let Ok(data) = frame.expect("a body").into_data() {
                bytes.extend_from_slice(&data);
            }
        }
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: bytes,
        }
    }

    pub fn get(&self, address: &str) -> Answer {
        let request = Request::get(address).header("host", "localhost:80");
        self.send(request.body(Body::empty()).expect("a request"))
    }

    pub fn post(&self, address: &str, form: &[(&str, &str)]) -> Answer {
        let pairs: Vec<String> = form
            .iter()
            .map(|(name, value)| format!("{}={}", encoded(name), encoded(value)))
            .collect();
        let request = Request::post(address)
            .header("host", "localhost:80")
            .header("origin", "http://localhost:80")
            .header("content-type", "application/x-www-form-urlencoded");
        self.send(
            request
                .body(Body::from(pairs.join("&")))
                .expect("a request"),
        )
    }

    pub fn import(&self, name: &str, bytes: &[u8]) -> Answer {
        self.post_file("/jobs/import", &[], ("file", name, bytes))
    }

    /// A form with a file, as a browser sends it.
    pub fn post_file(
        &self,
        address: &str,
        form: &[(&str, &str)],
        (field, name, bytes): (&str, &str, &[u8]),
    ) -> Answer {
        let mut body = Vec::new();
        for (name, value) in form {
            body.extend_from_slice(
                format!(
                    "--line\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
                )
                .as_bytes(),
            );
        }
        body.extend_from_slice(
            format!("--line\r\ncontent-disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\r\n")
                .as_bytes(),
        );
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--line--\r\n");
        let request = Request::post(address)
            .header("host", "localhost")
            .header("content-type", "multipart/form-data; boundary=line");
        self.send(request.body(Body::from(body)).expect("a request"))
    }
}

pub fn encoded(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(byte).to_string(),
            _ => format!("%{byte:02X}"),
        })
        .collect()
}
