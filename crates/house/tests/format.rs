//! The committed descriptions of the file format are those of the program.
//!
//! `LUNGWORT_WRITE=1 cargo test -p house --test format` writes them anew.

use std::fs;
use std::path::PathBuf;

fn committed(path: &str, made: &str) {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(path);
    if std::env::var_os("LUNGWORT_WRITE").is_some() {
        fs::write(&path, made).expect("the copy can be written");
    }
    let kept = fs::read_to_string(&path).expect("there is a committed copy");
    assert!(
        kept == made,
        "{} is out of date; see the head of this test",
        path.display()
    );
}

#[test]
fn schemas_are_true() {
    for (path, schema) in [
        ("schema/job-1.json", house::schema::job()),
        ("schema/catalogue-1.json", house::schema::catalogue()),
    ] {
        let text = serde_json::to_string_pretty(&schema).expect("a schema is JSON");
        committed(path, &(text + "\n"));
    }
}

#[test]
fn reference_page_is_true() {
    committed("docs/job-file.md", &house::schema::reference());
}
