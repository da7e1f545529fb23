//! The job: model, file format, schema.
pub mod model;
