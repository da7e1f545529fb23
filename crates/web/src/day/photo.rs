//! Photos: what they are is told by their first bytes, they are named by their hash, and they are
//! never served as anything else.

use axum::extract::multipart::{Field, Multipart, MultipartError};
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};
use store::{Key, Kind};

use crate::App;
use crate::job::{Open, failed, nowhere};
use crate::layout::message;

/// Largest photo (bytes): those of ordinary phones, as they are.
pub const LARGEST: usize = 12_000_000;
/// Most bytes of a request that are taken off the line so that a page can say what is wrong.
pub const LARGEST_BODY: usize = 64_000_000;
/// Longest text of a field (bytes).
const LONGEST: usize = 4000;
/// Most fields of a form.
const MOST: usize = 40;

/// What a photo is, by the end of its name and for a browser.
const KINDS: [(&str, &str); 4] = [
    ("jpg", "image/jpeg"),
    ("png", "image/png"),
    ("webp", "image/webp"),
    ("heic", "image/heic"),
];

/// The kind of a photo by its first bytes.
fn kind(bytes: &[u8]) -> Option<&'static str> {
    let at = |place: usize, length: usize| bytes.get(place..place + length);
    if bytes.starts_with(b"\xff\xd8\xff") {
        Some("jpg")
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some("png")
    } else if at(0, 4) == Some(b"RIFF") && at(8, 4) == Some(b"WEBP") {
        Some("webp")
    } else if at(4, 4) == Some(b"ftyp") {
        // The brand of the file, or one of those that it is compatible with (ISO/IEC 23008-12).
        let length = u32::from_be_bytes(bytes.get(..4)?.try_into().ok()?);
        let end = usize::try_from(length)
            .unwrap_or(0)
            .min(bytes.len())
            .min(256);
        let brands = bytes.get(8..end).unwrap_or_default();
        let known: [&[u8]; 4] = [b"heic", b"heix", b"heim", b"heis"];
        let mut brands = brands.chunks(4);
        brands.any(|brand| known.contains(&brand)).then_some("heic")
    } else {
        None
    }
}

/// A photo that was sent.
pub struct Photo {
    /// Its name: the hash of its bytes, and what it is.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

impl Photo {
    fn new(bytes: Vec<u8>) -> Result<Self, String> {
        match kind(&bytes) {
            Some(kind) => Ok(Self {
                name: format!("{}.{kind}", journal::hash(&bytes)),
                bytes,
            }),
            None => Err("This file is no photo in JPEG, PNG, WebP or HEIC. Choose another one, or leave it out.".into()),
        }
    }
}

/// What a form with a photo says.
#[derive(Default)]
pub struct Sent {
    /// Its texts.
    pub fields: Vec<(String, String)>,
    /// Its photo, or what is wrong with it.
    pub photo: Option<Result<Photo, String>>,
}

impl Sent {
    /// Reads a form. All of it is taken off the line, so that what was typed beside a photo that
    /// cannot be kept is not lost.
    pub async fn read(mut form: Multipart) -> Result<Self, Response> {
        let mut sent = Self::default();
        while let Some(field) = form.next_field().await.map_err(|error| refused(&error))? {
            let name = field.name().unwrap_or_default().to_owned();
            let is_photo = name == "photo";
            let most = if is_photo { LARGEST } else { LONGEST };
            let (bytes, whole) = bounded(field, most)
                .await
                .map_err(|error| refused(&error))?;
            if is_photo {
                if !whole {
                    sent.photo = Some(Err(format!(
                        "The photo is larger than {} MB. Take it smaller, or leave it out.",
                        LARGEST / 1_000_000
                    )));
                } else if !bytes.is_empty() {
                    sent.photo = Some(Photo::new(bytes));
                }
            } else if sent.fields.len() < MOST {
                let text = String::from_utf8_lossy(&bytes).into_owned();
                sent.fields.push((name, text));
            }
        }
        Ok(sent)
    }
}

/// The bytes of a field up to a bound, and whether that is all of it.
async fn bounded(mut field: Field<'_>, most: usize) -> Result<(Vec<u8>, bool), MultipartError> {
    let mut bytes = Vec::new();
    let mut whole = true;
    while let Some(chunk) = field.chunk().await? {
        let room = (most - bytes.len()).min(chunk.len());
        bytes.extend_from_slice(&chunk[..room]);
        whole &= room == chunk.len();
    }
    Ok((bytes, whole))
}

fn refused(error: &MultipartError) -> Response {
    let words = format!(
        "{}. Nothing was kept.",
        error.body_text().trim_end_matches('.')
    );
    (error.status(), message("That was not kept", &words)).into_response()
}

/// Keeps a photo beside the journal.
pub async fn keep(app: &App, open: &Open, photo: &Photo) -> Result<(), Response> {
    let key = key(open.head.key.name()).ok_or_else(nowhere)?;
    let kept = app.workspace.store.attach(&key, &photo.name, &photo.bytes);
    kept.await.map_err(|error| failed(&error))
}

fn key(job: &str) -> Option<Key> {
    Key::new(Kind::Journal, job)
}

/// The field of a form for a photo.
pub fn field(form: &str) -> Markup {
    let id = format!("{form}-photo");
    html! {
        div class="photo-entry" {
            label for=(id) { "Photo" }
            input id=(id) type="file" name="photo" accept="image/jpeg,image/png,image/webp,image/heic,image/heif" capture="environment";
        }
    }
}

/// A photo in small, which leads to the whole of it.
pub fn thumbnail(open: &Open, name: &str, words: &str) -> Markup {
    let address = open.address(&format!("/photos/{name}"));
    let shown = split(name).is_some_and(|(_, kind)| kind != "heic");
    html! {
        @if split(name).is_none() { span class="quiet" { "Photo " (name) } }
        @else {
            a class="thumbnail" href=(address) {
                @if shown { img src=(address) alt=(words) loading="lazy" width="96" height="96"; }
                @else { (words) }
            }
        }
    }
}

/// Hash and kind in the name of a photo that is kept here.
fn split(name: &str) -> Option<(&str, &'static str)> {
    let (hash, end) = name.split_once('.')?;
    let digits = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    let (kind, _) = KINDS.iter().find(|(kind, _)| *kind == end)?;
    (hash.len() == 64 && hash.bytes().all(digits)).then_some((hash, kind))
}

/// A photo as an answer of its own: it may do nothing, whatever is in it.
const PHOTO_POLICY: &str = "default-src 'none'; sandbox";

/// A photo.
pub async fn photo(
    State(app): State<App>,
    Path((job, name)): Path<(String, String)>,
) -> Result<Response, Response> {
    let (_, end) = split(&name).ok_or_else(nowhere)?;
    let key = key(&job).ok_or_else(nowhere)?;
    let found = app.workspace.store.attached(&key, &name).await;
    let bytes = found.map_err(|error| failed(&error))?.ok_or_else(nowhere)?;
    let media = KINDS.iter().find(|(known, _)| kind(&bytes) == Some(known));
    let (_, media) = media
        .filter(|(known, _)| *known == end)
        .ok_or_else(nowhere)?;
    let headers = [
        (header::CONTENT_TYPE, *media),
        (header::CONTENT_SECURITY_POLICY, PHOTO_POLICY),
        (
            header::CACHE_CONTROL,
            "private, max-age=31536000, immutable",
        ),
    ];
    Ok((StatusCode::OK, headers, bytes).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_by_their_first_bytes() {
        // JPEG: ISO/IEC 10918-1, SOI and a marker. PNG: RFC 2083, section 3.1. WebP: RFC 9649,
        // section 2.3. HEIC: ISO/IEC 23008-12, its brands.
        let facts: [(&[u8], Option<&str>); 12] = [
            (b"\xff\xd8\xff\xe0\x00\x10JFIF", Some("jpg")),
            (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", Some("png")),
            (b"RIFF\x24\x00\x00\x00WEBPVP8 ", Some("webp")),
            (
                b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic",
                Some("heic"),
            ),
            (
                b"\x00\x00\x00\x1cftypmif1\x00\x00\x00\x00mif1heic",
                Some("heic"),
            ),
            (b"\x00\x00\x00\x1cftypavif\x00\x00\x00\x00avifmif1", None),
            (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom", None),
            (b"GIF89a", None),
            (b"<svg xmlns=\"http://www.w3.org/2000/svg\"><script>", None),
            (b"<!doctype html>", None),
            (b"\xff\xff\xff\xffftyp", None),
            (b"", None),
        ];
        for (bytes, expected) in facts {
            assert_eq!(kind(bytes), expected, "{bytes:?}");
        }
    }

    #[test]
    fn names_are_hashes() {
        let hash = "a".repeat(64);
        assert!(split(&format!("{hash}.jpg")).is_some());
        for name in [
            format!("{hash}.svg"),
            format!("{hash}.html"),
            format!("{hash}.jpg.html"),
            format!("{}.jpg", "A".repeat(64)),
            "../jobs.sqlite".into(),
            "a.jpg".into(),
        ] {
            assert_eq!(split(&name), None, "{name}");
        }
    }
}
