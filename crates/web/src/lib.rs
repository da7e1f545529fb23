//! The workspace in the browser: from a request to a page.
//!
//! [`router`] answers requests over a [`Store`] of jobs. It needs no socket, no
//! thread and no clock of its own: what it needs from outside is handed in as a [`Workspace`], so the
//! same router runs behind a server on the contractor's laptop and inside the browser of a phone.
//!
//! Pages are made here, each has its own address, and everything works without script; the script
//! only shows what an answer would change before it is kept. A strict content-security policy allows
//! nothing that does not come from this program, no inline script and no inline style.
//!
//! ```
//! use std::sync::Arc;
//! use web::{Hosts, Workspace};
//!
//! let router = web::router(Workspace {
//!     store: Arc::new(store::memory::Memory::new()),
//!     clock: Arc::new(|| 0),
//!     zone: Arc::new(|_| 0),
//!     background: Arc::new(|work| work(&|| ())),
//!     hosts: Hosts::These(vec!["localhost".into()]),
//! });
//! # let _ = router;
//! ```

mod assets;
mod day;
mod file_page;
mod flows_page;
mod guard;
mod history_page;
mod home;
mod job;
mod known;
mod layout;
mod needs;
mod plans;
mod safety;
mod say;
mod steps;
mod survey;
mod walls_page;
mod why;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::from_fn_with_state;
use axum::routing::{get, post};
use store::Store;

use known::Shelf;

/// Work that takes its time. It calls what it is given between its parts, which may keep it while
/// somebody waits for an answer.
pub type Work = Box<dyn FnOnce(&Rest<'_>) + Send>;

/// Returns when work beside the answers may go on.
pub type Rest<'a> = dyn Fn() + Sync + 'a;

/// What the router needs from outside.
#[derive(Clone)]
pub struct Workspace {
    /// Where the jobs lie.
    pub store: Arc<dyn Store>,
    /// The time (seconds since 1970-01-01T00:00:00Z).
    pub clock: Arc<dyn Fn() -> i64 + Send + Sync>,
    /// By how many minutes the clocks of the place are ahead of UTC at a time; 0 where that is not
    /// known.
    pub zone: Arc<dyn Fn(i64) -> i32 + Send + Sync>,
    /// Does work beside answering requests, on another thread if there is one, or at once.
    pub background: Arc<dyn Fn(Work) + Send + Sync>,
    /// Under which names the workspace may be asked for.
    pub hosts: Hosts,
}

/// Under which names a workspace may be asked for. A page of a stranger can point a name of its own
/// at this machine; a request under such a name is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hosts {
    /// Only these, without a port.
    These(Vec<String>),
    /// Any, behind a password.
    Any,
}

/// Most bytes of a request: the largest file that is read, and what a form adds to it.
const LARGEST_BODY: usize = diagnostics::Source::LARGEST + 200_000;

/// What every page is made from.
#[derive(Clone)]
struct App {
    workspace: Workspace,
    shelf: Arc<Shelf>,
}

/// The router of the workspace.
pub fn router(workspace: Workspace) -> Router {
    let app = App {
        workspace,
        shelf: Arc::default(),
    };
    Router::new()
        .route("/", get(home::page))
        .route("/jobs", post(home::begin))
        .route("/jobs/import", post(home::import))
        .route("/jobs/{job}", get(job::page))
        .route("/jobs/{job}/copy", post(job::copy))
        .route("/jobs/{job}/away", post(job::away))
        .route("/jobs/{job}/survey", get(survey::overview))
        .route("/jobs/{job}/survey/walk", get(survey::walk::first))
        .route(
            "/jobs/{job}/survey/walk/{number}",
            get(survey::walk::page).post(survey::walk::save),
        )
        .route(
            "/jobs/{job}/survey/{*path}",
            get(survey::page).post(survey::save),
        )
        .route("/jobs/{job}/survey-add/{*list}", post(survey::add))
        .route("/jobs/{job}/survey-remove/{*path}", post(survey::remove))
        .route("/jobs/{job}/survey-move/{*path}", post(survey::shift))
        .route("/jobs/{job}/needs", get(needs::page))
        .route("/jobs/{job}/needs/sets", post(needs::choose))
        .route("/jobs/{job}/needs/own", post(needs::own))
        .route("/jobs/{job}/walls", get(walls_page::page))
        .route(
            "/jobs/{job}/walls/{wall}",
            get(walls_page::wall).post(walls_page::change),
        )
        .route("/jobs/{job}/plans", get(plans::page))
        .route("/jobs/{job}/plans/adopt", post(plans::adopt::adopt))
        .route("/jobs/{job}/plans/stop", post(plans::stop))
        .route("/jobs/{job}/plans/table", get(plans::table::page))
        .route("/jobs/{job}/plans/{place}", get(plans::one::page))
        .route("/jobs/{job}/flows", get(flows_page::page))
        .route("/jobs/{job}/flows/{sheet}", get(flows_page::drawing))
        .route("/jobs/{job}/flows/house", get(flows_page::part))
        .route("/jobs/{job}/flows/dampers", post(flows_page::keep))
        // Every number explains itself.
        .route("/jobs/{job}/flows/why/{figure}", get(why::of_flows))
        .route("/jobs/{job}/plans/why/{place}/{figure}", get(why::of_plan))
        .route("/jobs/{job}/needs/why", get(why::of_needs))
        .route("/jobs/{job}/walls/why/pair", get(walls_page::of_house))
        .route(
            "/jobs/{job}/walls/why/{wall}/{figure}",
            get(walls_page::of_wall),
        )
        .route("/jobs/{job}/safety", get(safety::page))
        .merge(day::routes())
        .route("/jobs/{job}/history", get(history_page::page))
        .route("/jobs/{job}/history/compare", get(history_page::compare))
        .route("/jobs/{job}/undo", post(history_page::undo))
        .route("/jobs/{job}/redo", post(history_page::redo))
        .route("/jobs/{job}/name", post(history_page::name))
        .route(
            "/jobs/{job}/file",
            get(file_page::page).post(file_page::save),
        )
        .route("/jobs/{job}/file.toml", get(file_page::export))
        .route("/assets/{name}", get(assets::asset))
        .fallback(home::lost)
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(from_fn_with_state(app.clone(), guard::guard))
        .with_state(app)
}
