//! The sound behind words that were heard: a clip of the recording, as WAV, for the play button beside them.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use leadsman_index::{Home, SourceId};
use leadsman_ingest::Span;
use leadsman_ingest::sound::wav;
use maud::{Markup, html};
use serde::Deserialize;

use super::known::Known;
use super::page::Page;
use super::trouble::Trouble;
use crate::error::Error;
use crate::voice::clip;
use crate::voice::stretch::{Stretch, behind};

/// The longest clip, in seconds: what is heard in one breath, and then some.
const LONGEST: f64 = 120.0;
/// Clips that are kept, since a browser asks for one piece by piece and each takes decoding.
const KEPT: usize = 4;

/// The clips that were asked for last.
#[derive(Default)]
pub struct Clips(Mutex<VecDeque<(Key, Bytes)>>);

type Key = (SourceId, Span);

impl Clips {
    fn get(&self, key: &Key) -> Option<Bytes> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(known, _)| known == key).map(|(_, clip)| clip.clone())
    }

    fn keep(&self, key: Key, clip: Bytes) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.push_front((key, clip));
        kept.truncate(KEPT);
    }
}

/// A place in a source, in its bytes.
#[derive(Clone, Copy, Debug, Deserialize)]
pub struct Place {
    from: usize,
    to: usize,
}

/// The button that plays the words at a place; nothing where they were not heard.
pub fn button(known: &Known, hash: &str, span: Span) -> Markup {
    html! {
        @if known.heard.contains(hash) {
            a.button.play href={ "/sound/" (hash) "?from=" (span.start) "&to=" (span.end) } { "Play" }
        }
    }
}

/// Gives a clip out, whole or the piece that is asked for.
pub async fn give(
    State(page): State<Arc<Page>>,
    Path(hash): Path<String>,
    Query(place): Query<Place>,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let missing = || Trouble::not_found("these words were not heard in a recording");
    let known = page.known().await?;
    let store = known.store.as_ref().ok_or_else(missing)?;
    let source: SourceId = hash.parse().map_err(|_| missing())?;
    // A source that is withdrawn is not heard either.
    if place.from > place.to || !known.heard.contains(&hash) {
        return Err(missing());
    }
    let span = Span::new(place.from, place.to);
    let key = (source, span);
    let clip = match page.clips.get(&key) {
        Some(clip) => clip,
        None => {
            let stretch = behind(store, &source, span).await?.ok_or_else(missing)?;
            let clip = Bytes::from(cut(&page, stretch).await?);
            page.clips.keep(key, clip.clone());
            clip
        }
    };
    Ok(answer(clip, &headers))
}

async fn cut(page: &Page, stretch: Stretch) -> Result<Vec<u8>, Error> {
    let archive = Home::open(&page.setting.home)?.archive();
    let cut = tokio::task::spawn_blocking(move || {
        let Stretch { recording, name, from, until } = stretch;
        let file = archive.unpack(&recording)?;
        let samples = clip::samples(file, from, until.min(from + LONGEST))
            .map_err(|unheard| Error::source(format!("{name}: {unheard}")))?;
        Ok(wav::write(&samples))
    });
    cut.await.map_err(|error| Error::home("a recording could not be read").because(&error))?
}

/// The whole, or one range of it (RFC 9110, section 14): some browsers play nothing that is not given in ranges.
fn answer(clip: Bytes, headers: &HeaderMap) -> Response {
    let kind = (header::CONTENT_TYPE, "audio/wav".to_owned());
    let ranges = (header::ACCEPT_RANGES, "bytes".to_owned());
    let asked = headers.get(header::RANGE).and_then(|range| range.to_str().ok());
    match asked.and_then(|asked| range(asked, clip.len())) {
        None => ([kind, ranges], clip).into_response(),
        Some(Some((first, last))) => {
            let of = (header::CONTENT_RANGE, format!("bytes {first}-{last}/{}", clip.len()));
            (StatusCode::PARTIAL_CONTENT, [kind, ranges, of], clip.slice(first..=last)).into_response()
        }
        Some(None) => {
            let of = (header::CONTENT_RANGE, format!("bytes */{}", clip.len()));
            (StatusCode::RANGE_NOT_SATISFIABLE, [ranges, of]).into_response()
        }
    }
}

/// The first and last byte that a header asks for: `None` where it is to be ignored, `Some(None)` where there is no
/// such piece.
fn range(asked: &str, length: usize) -> Option<Option<(usize, usize)>> {
    let (first, last) = asked.strip_prefix("bytes=")?.split_once('-')?;
    let number = |text: &str| text.trim().parse::<usize>();
    let piece = match (number(first), number(last)) {
        (Ok(first), Ok(last)) if first <= last => (first, last.min(length.saturating_sub(1))),
        (Ok(first), Err(_)) if last.trim().is_empty() => (first, length.saturating_sub(1)),
        (Err(_), Ok(count)) if first.trim().is_empty() && count > 0 => {
            (length.saturating_sub(count), length.saturating_sub(1))
        }
        _ => return None,
    };
    Some(Some(piece).filter(|piece| piece.0 < length && piece.0 <= piece.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_is_what_the_header_asks_for() {
        assert_eq!(range("bytes=0-", 100), Some(Some((0, 99))));
        assert_eq!(range("bytes=10-19", 100), Some(Some((10, 19))));
        assert_eq!(range("bytes=90-500", 100), Some(Some((90, 99))));
        assert_eq!(range("bytes=-5", 100), Some(Some((95, 99))));
        assert_eq!(range("bytes=100-", 100), Some(None));
        assert_eq!(range("bytes=0-", 0), Some(None));
        for ignored in
            ["", "bytes=", "bytes=-", "bytes=5-2", "items=0-5", "bytes=0-1,5-6", "bytes=a-b", "bytes=-0"]
        {
            assert_eq!(range(ignored, 100), None, "{ignored}");
        }
    }

    #[test]
    fn few_clips_are_kept() {
        let clips = Clips::default();
        let key = |n: usize| (SourceId::of(b"a recording"), Span::new(n, n + 1));
        for n in 0..KEPT + 1 {
            clips.keep(key(n), Bytes::from_static(b"RIFF"));
        }
        assert_eq!(clips.get(&key(0)), None);
        assert_eq!(clips.get(&key(KEPT)), Some(Bytes::from_static(b"RIFF")));
    }
}
