//! Files picked on a device: streamed to the disk as they come, bounded in size and number, and taken from there.
//!
//! A file's name is a word to show and never a path: what is written goes under names of this program's own.

use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{FromRequest, Multipart, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::Response;
use leadsman_index::{Dump, Home};
use tempfile::TempDir;

use super::frame::Look;
use super::note::answer;
use super::page::Page;
use super::paired::secret;
use super::trouble::Trouble;
use crate::error::Error;

/// Files in one upload.
const MOST: usize = 40;
/// Characters of a file's name that are kept.
const LONGEST_NAME: usize = 120;
/// How long a device may be silent in the middle of a file.
const SILENCE: Duration = Duration::from_secs(30);

/// Takes files.
pub async fn take(State(page): State<Arc<Page>>, look: Look, request: Request) -> Result<Response, Trouble> {
    let headers = request.headers().clone();
    let largest = page.setting.largest_upload;
    if length(&headers).is_some_and(|length| length > largest) {
        return Err(too_large(&page));
    }
    let mut parts = Multipart::from_request(request, &page)
        .await
        .map_err(|_| Trouble::wrong("expected files as a form sends them"))?;
    let folder = incoming(&page)?;
    let mut dumps = Vec::new();
    let mut left = largest;
    loop {
        let next = tokio::time::timeout(SILENCE, parts.next_field()).await.map_err(|_| silent())?;
        let Some(mut part) = next.map_err(|error| broken(&error))? else { break };
        let Some(name) = part.file_name().map(shown) else { continue };
        if dumps.len() == MOST {
            return Err(Trouble::new(
                StatusCode::PAYLOAD_TOO_LARGE,
                Error::wrong_use(format!("expected at most {MOST} files at a time, found more"))
                    .hint("send them in several goes; none of these was taken"),
            ));
        }
        let path = folder.path().join(dumps.len().to_string());
        let mut file = std::fs::File::create_new(&path).map_err(unwritten)?;
        let mut size = 0;
        loop {
            let piece = tokio::time::timeout(SILENCE, part.chunk()).await.map_err(|_| silent())?;
            let Some(piece) = piece.map_err(|error| broken(&error))? else { break };
            size += piece.len() as u64;
            left = left.checked_sub(piece.len() as u64).ok_or_else(|| too_large(&page))?;
            file.write_all(&piece).map_err(unwritten)?;
        }
        // A file input with nothing picked sends one part without a name and without bytes.
        if size == 0 && name.is_empty() {
            continue;
        }
        let mut dump = Dump::file(path);
        // Not the path of an earlier upload of that name, which it need not be a newer copy of.
        let stem: String = secret()?.chars().take(12).collect();
        dump.path = Some(PathBuf::from(format!("page/{stem}/{name}")));
        dump.hints.name = name;
        dump.hints.modified = Some((page.setting.clock)());
        dumps.push(dump);
    }
    if dumps.is_empty() {
        return Err(Trouble::wrong("expected files, found none"));
    }
    answer(&headers, &look, page.ingest(dumps).await?)
}

/// A folder of its own for an upload, on the home's disk, gone when the upload is done.
fn incoming(page: &Page) -> Result<TempDir, Trouble> {
    let home = Home::open(&page.setting.home)?;
    let folder = home.root().join("derived").join("incoming");
    std::fs::create_dir_all(&folder).map_err(unwritten)?;
    TempDir::new_in(folder).map_err(unwritten)
}

fn length(headers: &HeaderMap) -> Option<u64> {
    headers.get(header::CONTENT_LENGTH)?.to_str().ok()?.parse().ok()
}

/// A file's name as it is shown and kept: the last part of what the device says, without control signs.
fn shown(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last.chars().filter(|sign| !sign.is_control()).collect();
    let plain = plain.trim();
    if plain.trim_matches('.').is_empty() && !plain.is_empty() {
        return "file".to_owned();
    }
    // The end says what kind of file it is, and stays.
    let signs: Vec<char> = plain.chars().collect();
    let cut = signs.len().saturating_sub(LONGEST_NAME);
    signs[cut..].iter().collect()
}

fn too_large(page: &Page) -> Trouble {
    let most = page.setting.largest_upload >> 20;
    (page.setting.log)(&format!("refused an upload of more than {most} MiB"));
    Trouble::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        Error::wrong_use(format!("expected at most {most} MiB at a time, found more"))
            .hint("`leadsman ingest FILE` on the machine itself takes files of any size"),
    )
}

fn silent() -> Trouble {
    Trouble::new(
        StatusCode::REQUEST_TIMEOUT,
        Error::wrong_use("the device stopped sending in the middle of a file; none of it was taken"),
    )
}

fn broken(error: &axum::extract::multipart::MultipartError) -> Trouble {
    Trouble::new(
        error.status(),
        Error::wrong_use("the files did not come over whole; none of them was taken").hint("send them again"),
    )
}

fn unwritten(error: std::io::Error) -> Trouble {
    Error::home("the files could not be written to the home's disk").because(&error).into()
}

#[cfg(test)]
mod tests {
    use super::shown;

    #[test]
    fn names_are_words_and_no_paths() {
        assert_eq!(shown("../../etc/passwd"), "passwd");
        assert_eq!(shown("C:\\logs\\..\\day.txt"), "day.txt");
        assert_eq!(shown(".."), "file");
        assert_eq!(shown("a\u{0}b\n.txt"), "ab.txt");
        assert_eq!(shown(""), "");
        let long = format!("{}.vtt", "x".repeat(500));
        assert!(shown(&long).ends_with(".vtt") && shown(&long).chars().count() == 120);
    }
}
