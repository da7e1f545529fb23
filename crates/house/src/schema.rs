//! The file format described for editors (JSON schema) and for people (a reference page).
//!
//! Both are made from the description by which the file is read, so they cannot drift from it. The
//! committed copies are `schema/job-1.json`, `schema/catalogue-1.json` and `docs/job-file.md`.

use serde_json::{Map, Value as Json, json};

use crate::file::value::{Field, Shape, Table, Value};
use crate::file::{CatalogueTable, FORMAT, JobTable};

/// JSON schema (draft 2020-12) of a job file.
///
/// ```
/// let schema = house::schema::job();
/// assert_eq!(schema["properties"]["house"]["properties"]["altitude"]["type"], "string");
/// assert_eq!(schema["additionalProperties"], false);
/// ```
pub fn job() -> Json {
    document("Lungwort job", &JobTable::shape())
}

/// JSON schema (draft 2020-12) of a catalogue file.
pub fn catalogue() -> Json {
    document("Lungwort catalogue", &CatalogueTable::shape())
}

fn document(title: &str, shape: &Shape) -> Json {
    let mut schema = schema(shape);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!(title);
    schema["properties"]["format"]["const"] = json!(FORMAT);
    schema
}

fn schema(shape: &Shape) -> Json {
    match shape {
        Shape::Text => json!({ "type": "string", "minLength": 1 }),
        Shape::Flag => json!({ "type": "boolean" }),
        Shape::Count => json!({ "type": "integer", "minimum": 0, "maximum": 1000 }),
        Shape::Number => json!({ "type": ["number", "string"], "examples": [0.65, "0.65 ± 0.05"] }),
        Shape::Quantity {
            examples,
            money: true,
            ..
        } => {
            json!({ "type": ["number", "string"], "examples": list(examples) })
        }
        Shape::Quantity { examples, .. } | Shape::Written { examples, .. } => {
            json!({ "type": "string", "examples": list(examples) })
        }
        Shape::Words(words) => json!({ "type": "string", "enum": words }),
        Shape::List(item) => {
            let array = json!({ "type": "array", "items": schema(item), "maxItems": 500 });
            match item.as_ref() {
                Shape::Table(_) => array,
                item => json!({ "anyOf": [array, schema(item)] }),
            }
        }
        Shape::Named(item) => json!({ "type": "object", "additionalProperties": schema(item) }),
        Shape::Table(table) => {
            let property = |field: &Field| {
                let mut property = schema(&field.shape);
                property["description"] = json!(field.about);
                (field.key.to_owned(), property)
            };
            let properties: Map<String, Json> = table.fields.iter().map(property).collect();
            let required: Vec<&str> = table
                .fields
                .iter()
                .filter(|field| field.required)
                .map(|field| field.key)
                .collect();
            json!({
                "type": "object",
                "description": table.about,
                "properties": properties,
                "required": required,
                "additionalProperties": false,
            })
        }
    }
}

/// Examples are written for people, parted by `; ` where a comma belongs to an example.
fn list(examples: &str) -> Vec<&str> {
    let separator = if examples.contains(';') { ';' } else { ',' };
    examples.split(separator).map(str::trim).collect()
}

/// The reference page of both files in Markdown: every table with its keys, what they mean and
/// what they accept.
pub fn reference() -> String {
    let mut page = String::from(
        "# The job file, key by key\n\n\
         A job is one TOML file. Every quantity is written in quotes with its unit, in inch-pound or\n\
         SI as it was measured; `± 5 %` or `± 3 cfm` after it gives the half-width of its 95 %\n\
         interval. Keys marked **needed** must be there; what is left out otherwise is assumed, and\n\
         `lungwort check` lists what was assumed and why. This page is made from the program.\n",
    );
    for (title, shape) in [
        ("Job", JobTable::shape()),
        ("Catalogue", CatalogueTable::shape()),
    ] {
        if let Shape::Table(table) = &shape {
            section(&mut page, &format!("# {title}"), "", table);
        }
    }
    page
}

fn section(page: &mut String, title: &str, path: &str, table: &Table) {
    page.push_str(&format!(
        "\n#{title}\n\n{}\n\n| key | | meaning | accepts |\n|---|---|---|---|\n",
        table.about
    ));
    for field in &table.fields {
        let needed = if field.required { "needed" } else { "" };
        let accepted = field.shape.accepted().replace('|', "\\|");
        page.push_str(&format!(
            "| `{}` | {needed} | {} | {accepted} |\n",
            field.key, field.about
        ));
    }
    for field in &table.fields {
        let path = if path.is_empty() {
            field.key.to_owned()
        } else {
            format!("{path}.{}", field.key)
        };
        match &field.shape {
            Shape::Table(inner) => section(page, &format!("## `[{path}]`"), &path, inner),
            Shape::List(item) => {
                if let Shape::Table(inner) = item.as_ref() {
                    section(page, &format!("## `[[{path}]]`"), &path, inner);
                }
            }
            _ => {}
        }
    }
}
