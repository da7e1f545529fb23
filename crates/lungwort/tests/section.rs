//! `lungwort flows --svg`: the house in section, as a contractor gets it.

mod support;

use std::fs;
use std::path::Path;

use support::{code, problems, run, workspace};

fn draw(arguments: &[&str], file: &Path) -> String {
    let file = file.to_str().expect("a plain name");
    let arguments: Vec<&str> = [&["flows"], arguments, &["--svg", file]].concat();
    let output = run(&workspace(), &arguments);
    assert_eq!(code(&output), 0, "{arguments:?}: {}", problems(&output));
    fs::read_to_string(file).expect("a drawing")
}

/// The text that a reader sees, one line for each text of the drawing.
fn texts(svg: &str) -> Vec<String> {
    let tree = roxmltree::Document::parse(svg).expect("sound XML");
    tree.descendants()
        .filter(|node| node.has_tag_name("text"))
        .map(|node| {
            node.descendants()
                .filter_map(|inner| inner.is_text().then(|| inner.text()).flatten())
                .collect::<Vec<_>>()
                .join(" ")
                .trim()
                .to_owned()
        })
        .collect()
}

/// The picture in docs/drawing.md and in the readme is what the program draws.
/// `LUNGWORT_WRITE=1 cargo test -p lungwort --test section` draws it anew.
#[test]
fn the_pictures_are_true() {
    let folder = tempfile::tempdir().expect("a folder");
    let duluth = "examples/duluth-furnace.toml";
    for (name, arguments) in [
        ("duluth-blower-off", vec![duluth]),
        ("duluth-phone", vec![duluth, "--narrow"]),
        (
            "tallahassee-idle",
            vec![
                "examples/tallahassee-heat-pump.toml",
                "--blower",
                "cooling",
                "--setting",
                "off",
            ],
        ),
    ] {
        let drawn = draw(&arguments, &folder.path().join("drawing.svg"));
        let kept = workspace().join(format!("docs/drawing/{name}.svg"));
        if std::env::var_os("LUNGWORT_WRITE").is_some() {
            fs::create_dir_all(workspace().join("docs/drawing")).expect("a folder");
            fs::write(&kept, &drawn).expect("the picture can be written");
        }
        let kept = fs::read_to_string(kept).expect("the committed picture");
        assert!(kept == drawn, "{name} is out of date; see this test");
    }
}

#[test]
fn the_words_of_a_drawing() {
    let folder = tempfile::tempdir().expect("a folder");
    let svg = draw(
        &["examples/duluth-furnace.toml"],
        &folder.path().join("drawing.svg"),
    );
    insta::assert_snapshot!(texts(&svg).join("\n"));
}

/// Every example in telling modes and settings, for both widths, is sound and self-contained.
#[test]
fn all_examples_are_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("drawing.svg");
    for (example, modes) in [
        ("duluth-furnace", vec!["off", "heating"]),
        ("flagstaff-crawlspace", vec!["off", "heating"]),
        ("tallahassee-heat-pump", vec!["off", "cooling"]),
        ("light", vec!["heating"]),
    ] {
        let job = format!("examples/{example}.toml");
        for mode in modes {
            for more in [&["--setting", "off"][..], &["--narrow", "--units", "si"]] {
                let arguments: Vec<&str> = [&[job.as_str(), "--blower", mode], more].concat();
                let svg = draw(&arguments, &file);
                let shown = texts(&svg);
                for word in ["outdoor air", "supply air", "extract air", "exhaust air"] {
                    assert!(
                        shown.iter().any(|text| text == word),
                        "{arguments:?}: {word}"
                    );
                }
                // Nothing is fetched from elsewhere.
                assert!(
                    !svg.contains("href") && !svg.contains("<image") && !svg.contains("@import")
                );
                let ids: Vec<&str> = svg
                    .match_indices(" id=\"")
                    .filter_map(|(at, found)| svg[at + found.len()..].split('"').next())
                    .collect();
                for used in svg.split("url(#").skip(1) {
                    let id = used.split(')').next().expect("an id");
                    assert!(ids.contains(&id), "{arguments:?}: {id}");
                }
            }
        }
    }
}
