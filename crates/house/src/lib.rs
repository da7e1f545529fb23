//! The job: model, file format, schema.
//!
//! - [`model`]: the job as the physics sees it, in SI, names resolved.
//! - [`file`](mod@file): the TOML file that a person writes, read with all its problems at once.
//! - [`schema`]: the same file format described for editors (JSON schema) and people (Markdown).

pub mod file;
pub mod model;
pub mod schema;
