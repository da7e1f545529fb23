//! The job: model, file format, schema.
