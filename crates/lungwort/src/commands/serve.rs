//! `lungwort` without a command, and `lungwort serve`: the workspace in the browser.

use std::env;
use std::io::{ErrorKind, IsTerminal as _, Write as _};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use axum::extract::{Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse as _, Response};
use store::{Change, Document, Event, Key, Kind, Store, StoreError};
use store_sqlite::Sqlite;
use tokio::net::TcpListener;
use web::{Hosts, Workspace};

use crate::command_line::Serve;
use crate::outcome::{Failure, Outcome};

/// Where the workspace listens, if that is free.
const USUAL: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 8062);

/// The variable that sets the password.
const PASSWORD: &str = "LUNGWORT_PASSWORD";

/// Shortest password.
const SHORTEST: usize = 12;

/// The houses that are there from the beginning, and their catalogue.
const EXAMPLES: [(Kind, &str, &str); 6] = [
    (
        Kind::Catalogue,
        "catalogue.toml",
        include_str!("../../../../examples/catalogue.toml"),
    ),
    (
        Kind::Job,
        "light",
        include_str!("../../../../examples/light.toml"),
    ),
    (
        Kind::Job,
        "tallahassee-heat-pump",
        include_str!("../../../../examples/tallahassee-heat-pump.toml"),
    ),
    (
        Kind::Job,
        "flagstaff-crawlspace",
        include_str!("../../../../examples/flagstaff-crawlspace.toml"),
    ),
    (
        Kind::Job,
        "duluth-set-up",
        include_str!("../../../../examples/duluth-set-up.toml"),
    ),
    (
        Kind::Job,
        "duluth-furnace",
        include_str!("../../../../examples/duluth-furnace.toml"),
    ),
];

/// Serves the workspace until the program is stopped.
pub fn run(asked: &Serve) -> Result<Outcome, Failure> {
    let password = password()?;
    if let Some(address) = asked.listen
        && !address.ip().is_loopback()
        && password.is_none()
    {
        return Err(Failure::message(
            format!("{address} can be reached from other machines, and no password is set"),
            format!(
                "set {PASSWORD} to a password of at least {SHORTEST} characters, or listen at 127.0.0.1"
            ),
        ));
    }
    let folder = match &asked.data {
        Some(folder) => folder.clone(),
        None => data_folder()?,
    };
    let store = open(&folder)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(4)
        .enable_io()
        .build()
        .map_err(|error| Failure::message(format!("cannot start: {error}"), ""))?;
    runtime.block_on(async {
        put_examples(&store).await.map_err(|error| {
            Failure::message(format!("the examples cannot be kept: {error}"), "")
        })?;
        let listener = listen(asked.listen).await?;
        serve(listener, store, password, &folder, asked.no_open).await
    })
}

fn password() -> Result<Option<String>, Failure> {
    match env::var(PASSWORD) {
        Ok(password) if password.chars().count() < SHORTEST => Err(Failure::message(
            format!("{PASSWORD} is too short"),
            format!("a password has at least {SHORTEST} characters"),
        )),
        Ok(password) => Ok(Some(password)),
        Err(env::VarError::NotPresent) => Ok(None),
        Err(env::VarError::NotUnicode(_)) => Err(Failure::message(
            format!("{PASSWORD} is not text in UTF-8"),
            "",
        )),
    }
}

/// Where programs keep what belongs to a user.
fn data_folder() -> Result<PathBuf, Failure> {
    let variable = |name: &str| env::var_os(name).filter(|value| !value.is_empty());
    let home = || variable("HOME").map(PathBuf::from);
    let base = if cfg!(windows) {
        variable("LOCALAPPDATA").map(PathBuf::from)
    } else if cfg!(target_os = "macos") {
        home().map(|home| home.join("Library/Application Support"))
    } else {
        variable("XDG_DATA_HOME")
            .map(PathBuf::from)
            .or_else(|| home().map(|home| home.join(".local/share")))
    };
    base.map(|base| base.join("lungwort")).ok_or_else(|| {
        Failure::message(
            "there is no folder for the jobs",
            "name one with lungwort serve --data FOLDER",
        )
    })
}

fn open(folder: &Path) -> Result<Arc<dyn Store>, Failure> {
    let failed = |why: String| {
        Failure::message(
            format!("cannot keep jobs in {}: {why}", folder.display()),
            "name another folder with lungwort serve --data FOLDER",
        )
    };
    std::fs::create_dir_all(folder).map_err(|error| failed(crate::files::reason(&error)))?;
    let store = Sqlite::open(&folder.join("jobs.sqlite")).map_err(|e| failed(e.to_string()))?;
    Ok(Arc::new(store))
}

/// Puts the examples into the store, those that are not there.
async fn put_examples(store: &Arc<dyn Store>) -> Result<(), StoreError> {
    for (kind, name, text) in EXAMPLES {
        let Some(key) = Key::new(kind, name) else {
            continue;
        };
        if !matches!(store.current(&key).await, Err(StoreError::Unknown(_))) {
            continue;
        }
        let text = text.to_owned();
        let began = Event::new(1, now(), Change::Began { text });
        let document = Document::replay([&began])?;
        match store.append(&key, &began, &document).await {
            // Another process was quicker.
            Ok(()) | Err(StoreError::Moved { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(())
}

async fn listen(asked: Option<SocketAddr>) -> Result<TcpListener, Failure> {
    let address = asked.unwrap_or(USUAL);
    let bound = match TcpListener::bind(address).await {
        // The usual place is taken, perhaps by the same program: any other will do.
        Err(error) if error.kind() == ErrorKind::AddrInUse && asked.is_none() => {
            TcpListener::bind(SocketAddr::new(USUAL.ip(), 0)).await
        }
        other => other,
    };
    bound.map_err(|error| Failure::message(format!("cannot listen at {address}: {error}"), ""))
}

async fn serve(
    listener: TcpListener,
    store: Arc<dyn Store>,
    password: Option<String>,
    folder: &Path,
    no_open: bool,
) -> Result<Outcome, Failure> {
    let failed =
        |error: std::io::Error| Failure::message(format!("the server stopped: {error}"), "");
    let address = listener.local_addr().map_err(failed)?;
    let hosts = match &password {
        Some(_) => Hosts::Any,
        None => Hosts::These(vec![
            "127.0.0.1".into(),
            "localhost".into(),
            "[::1]".into(),
            address.ip().to_string(),
        ]),
    };
    // Who asks from elsewhere may have other clocks.
    let here = password.is_none();
    let traffic = Arc::new(Traffic::default());
    let mut router = web::router(Workspace {
        store,
        clock: Arc::new(now),
        zone: Arc::new(move |time| if here { ahead(time) } else { 0 }),
        background: {
            let traffic = Arc::clone(&traffic);
            Arc::new(move |work| {
                let traffic = Arc::clone(&traffic);
                std::thread::spawn(move || work(&|| traffic.rest()));
            })
        },
        hosts,
    });
    router = router.layer(from_fn_with_state(traffic, answer));
    if let Some(password) = password {
        // What a browser sends behind the name, whatever that is (RFC 7617).
        let expected: Arc<str> = format!(":{password}").into();
        router = router.layer(from_fn_with_state(expected, ask_password));
    }
    let link = format!("http://{address}/");
    let mut out = std::io::stdout();
    // A reader that went away is no reason to stop serving.
    let _ = writeln!(
        out,
        "The workspace is open at {link}\nJobs are kept in {}\nStop it with Ctrl+C. Every command: lungwort help",
        folder.display()
    )
    .and_then(|()| out.flush());
    if !no_open && out.is_terminal() {
        open_browser(&link);
    }
    axum::serve(listener, router).await.map_err(failed)?;
    Ok(Outcome::yes(String::new()))
}

/// Seconds since 1970-01-01T00:00:00Z.
fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    since.map_or(0, |since| {
        i64::try_from(since.as_secs()).unwrap_or(i64::MAX)
    })
}

/// By how many minutes the clocks of this computer are ahead of UTC at a time.
fn ahead(time: i64) -> i32 {
    let zone = jiff::tz::TimeZone::system();
    jiff::Timestamp::from_second(time).map_or(0, |time| zone.to_offset(time).seconds() / 60)
}

/// How many requests are being answered. Work beside them rests meanwhile, so that they have the
/// processor for themselves.
#[derive(Default)]
struct Traffic {
    answering: Mutex<usize>,
    changed: Condvar,
}

impl Traffic {
    /// Work that would never come to an end helps nobody: so long it rests at most.
    const LONGEST_REST: Duration = Duration::from_millis(100);

    fn rest(&self) {
        let answering = self
            .answering
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let busy = |answering: &mut usize| *answering > 0;
        drop(
            self.changed
                .wait_timeout_while(answering, Self::LONGEST_REST, busy),
        );
    }

    fn change(&self, by: impl Fn(usize) -> usize) {
        let mut answering = self
            .answering
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        *answering = by(*answering);
        self.changed.notify_all();
    }
}

/// A request that is being answered, until it is dropped.
struct Answering(Arc<Traffic>);

impl Drop for Answering {
    fn drop(&mut self) {
        self.0.change(|answering| answering - 1);
    }
}

/// Answers a request while other work rests.
async fn answer(State(traffic): State<Arc<Traffic>>, request: Request, next: Next) -> Response {
    traffic.change(|answering| answering + 1);
    let _answering = Answering(traffic);
    next.run(request).await
}

/// Lets a request pass that carries the password.
async fn ask_password(State(expected): State<Arc<str>>, request: Request, next: Next) -> Response {
    let given = request
        .headers()
        .get(header::AUTHORIZATION)
        .and_then(|value| value.to_str().ok()?.strip_prefix("Basic "))
        .and_then(base64)
        .and_then(|bytes| {
            let colon = bytes.iter().position(|&byte| byte == b':')?;
            Some(bytes[colon..].to_vec())
        });
    let right = given.is_some_and(|given| equal(&given, expected.as_bytes()));
    if right {
        return next.run(request).await;
    }
    (
        StatusCode::UNAUTHORIZED,
        [(
            header::WWW_AUTHENTICATE,
            "Basic realm=\"Lungwort\", charset=\"UTF-8\"",
        )],
        "This workspace asks for its password. Any name will do.\n",
    )
        .into_response()
}

/// Compares in a time that does not tell how far the texts agree.
fn equal(one: &[u8], other: &[u8]) -> bool {
    let differs = one.iter().zip(other).fold(0, |all, (a, b)| all | (a ^ b));
    one.len() == other.len() && std::hint::black_box(differs) == 0
}

/// The bytes that base64 stands for (RFC 4648).
fn base64(text: &str) -> Option<Vec<u8>> {
    let digits = text.trim_end_matches('=');
    let mut bytes = Vec::with_capacity(digits.len() * 3 / 4);
    let (mut bits, mut held) = (0u32, 0);
    for digit in digits.bytes() {
        let value = match digit {
            b'A'..=b'Z' => digit - b'A',
            b'a'..=b'z' => digit - b'a' + 26,
            b'0'..=b'9' => digit - b'0' + 52,
            b'+' => 62,
            b'/' => 63,
            _ => return None,
        };
        bits = bits << 6 | u32::from(value);
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held & 0xff) as u8);
        }
    }
    Some(bytes)
}

/// Opens the link in the browser of a desktop, if there is one. It is printed in any case.
fn open_browser(link: &str) {
    let set = |name: &str| env::var_os(name).is_some_and(|value| !value.is_empty());
    let (program, arguments): (&str, &[&str]) = if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else if cfg!(target_os = "macos") {
        ("open", &[])
    } else if set("DISPLAY") || set("WAYLAND_DISPLAY") {
        ("xdg-open", &[])
    } else {
        return;
    };
    let _ = Command::new(program)
        .args(arguments)
        .arg(link)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_of_the_standard() {
        // RFC 4648, section 10.
        for (text, encoded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(encoded).as_deref(), Some(text.as_bytes()));
        }
        assert_eq!(base64("Zm 9v"), None);
    }

    #[test]
    fn passwords_are_compared_as_a_whole() {
        assert!(equal(b"abc", b"abc"));
        for other in ["", "ab", "abd", "abcd"] {
            assert!(!equal(b"abc", other.as_bytes()), "{other}");
        }
    }
}
