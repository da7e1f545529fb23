//! Command line of Lungwort.
fn main() {}
