//! What stands right beside a closing word and leaves its matter undone: "on order", "hasn't come", "to go on", "sent back".

use std::ops::Range;

use crate::talk::Talk;
use crate::token::{Gap, Token};
use crate::when::weekday;
use crate::word::WordList;

/// Whether the words beside a closing word, or its own, say that nothing was put right; the gear that it is of, where known.
pub(super) fn by_what_stands_beside(talk: &Talk<'_>, cue: &Range<usize>, subject: Option<usize>) -> bool {
    denied_behind(talk, cue)
        || is_still_to_go(talk, cue)
        || was_done_in(talk, cue)
        || only_once(talk, cue)
        || is_sent(talk, cue)
        || is_ordered(talk, cue)
        || is_asked_for(talk, cue)
        || is_being_got(talk, cue)
        || is_held_so(talk, cue, subject)
        || lies_on(talk, cue)
        || is_anothers(talk, cue)
        || taken_back(talk, cue)
        || picked_up(talk, cue)
}

/// The `n`th token behind the cue, from nought, where no comma or stop stands in front of it.
fn behind<'t>(talk: &'t Talk<'_>, cue: &Range<usize>, n: usize) -> Option<&'t Token<'t>> {
    talk.tokens.get(cue.end + n).filter(|t| t.gap <= Gap::Line)
}

/// "The foam's on the bench", "the seal is on order": where a thing lies that is not on yet.
fn lies_on(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let next = |n| behind(talk, cue, n);
    tokens[cue.end - 1].is("on")
        && next(0).is_some_and(|t| {
            t.is_any(words!["order", "its"])
                || weekday(&t.lower).is_some()
                || t.is_any(words!["the", "my", "a"])
                    && next(1).is_some_and(|t| {
                        t.is_any(words![
                            "bench", "table", "list", "shelf", "way", "dock", "quay", "pontoon", "truck",
                            "floor", "bunk", "boil", "cards", "lorry", "ferry", "train", "post", "nose",
                            "wind", "beam", "bow", "quarter", "beach", "hook", "mooring", "anchor", "hard",
                            "slip",
                        ])
                    })
        })
}

/// "The beacon is registered to the old owner": it stands so still.
fn is_anothers(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    const REACH: usize = 4;
    let to = behind(talk, cue, 0).is_some_and(|t| t.is_any(words!["to", "in", "under"]));
    let other = |t: &Token<'_>| t.is_any(words!["old", "previous", "former", "last", "wrong", "other"]);
    talk.tokens[cue.end - 1].is("registered")
        && to
        && (1..REACH).map_while(|n| behind(talk, cue, n)).any(other)
}

/// "Came. Wrong one, sent back", "changed it. No I haven't": the next words undo it.
fn taken_back(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    /// As far behind it is undone, in tokens.
    const REACH: usize = 12;
    let tokens = &talk.tokens;
    let end = tokens.len().min(cue.end + REACH);
    let behind = (cue.end..end).take_while(|&i| tokens[i].gap < Gap::Block).count();
    tokens[cue.end..cue.end + behind].windows(3).any(|w| {
        w[0].is("wrong")
            && w[1].is_any(words![
                "one", "ones", "size", "part", "parts", "sort", "kind", "type", "length", "thread"
            ])
            || w[0].is_any(words!["sent", "sending"]) && (w[1].is("back") || w[2].is("back"))
            || w[0].is("no")
                && w[1].is_any(words!["i", "we"])
                && w[2].is_any(words!["haven't", "didn't", "never"])
    })
}

/// "Picked up the fender under sail": gear at which the boat was brought alongside something, and nothing fetched.
fn picked_up(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    /// As far behind the words it may be named, in tokens.
    const REACH: usize = 4;
    let tokens = &talk.tokens;
    let behind = &tokens[cue.end.min(tokens.len())..tokens.len().min(cue.end + REACH)];
    tokens[cue.start].is_any(words!["picked", "pick"])
        && behind.iter().take_while(|t| t.gap < Gap::Sentence).any(|t| {
            t.is_any(words!["fender", "fenders", "buoy", "mooring", "dummy", "bucket", "lifebuoy", "hat"])
        })
}

/// "The new one hasn't come": what follows at once says that it is not so.
fn denied_behind(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    const NOT: &WordList = words![
        "hasn't", "haven't", "hasnt", "havent", "isn't", "aren't", "didn't", "doesn't", "won't", "hadn't",
        "wasn't", "never", "not",
    ];
    let next = |n| behind(talk, cue, n);
    next(0).is_some_and(|t| {
        t.is_any(NOT)
            || t.is_any(words!["has", "have", "is", "are", "did", "will"])
                && next(1).is_some_and(|t| t.is_any(words!["not", "never", "n't", "still", "yet"]))
    })
}

/// "The suit is all right once I've changed the seal".
fn only_once(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    const REACH: usize = 4;
    let front = &talk.tokens[cue.start.saturating_sub(REACH)..cue.start];
    front.windows(2).any(|w| {
        w[0].is_any(words!["once", "unless"])
            && w[1].is_any(words!["i", "we", "he", "she", "they"])
            && w[1].gap < Gap::Clause
    })
}

/// "Raft delivered to the service station yesterday": sent, and not back.
fn is_sent(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let next = behind(talk, cue, 0);
    let to = talk.tokens.get(cue.end + 1);
    talk.tokens[cue.end - 1].is("delivered")
        && next.is_some_and(|t| t.is("to"))
        && to.is_none_or(|t| !t.is_any(words!["us", "me", "the", "boat", "my", "our"]))
}

/// "Both pennants renewed before she goes out in anything": what is asked for.
fn is_asked_for(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let next = |n| behind(talk, cue, n);
    next(0).is_some_and(|t| t.is("before"))
        && next(1).is_some_and(|t| {
            t.is_any(words!["she", "we", "i", "departure", "leaving", "anything", "any", "sailing", "going"])
        })
        && next(2).is_none_or(|t| !t.is_any(words!["left", "sailed", "went", "came", "had", "got", "did"]))
}

/// "New one on order", "new one coming Friday".
fn is_ordered(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    let next = |n| behind(talk, cue, n);
    tokens[cue.clone()].iter().any(|t| t.is("new"))
        && (next(0).is_some_and(|t| t.is_any(words!["ordered", "coming", "promised"]))
            || next(0).is_some_and(|t| t.is("on")) && next(1).is_some_and(|t| t.is("order")))
}

/// "Nerys is making the new one", "I'm having two new ones": what somebody is still to bring.
fn is_being_got(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    const REACH: usize = 3;
    const GETTING: &WordList = words![
        "making", "make", "makes", "building", "having", "getting", "ordering", "order", "want", "wants",
        "needs", "buying", "sewing", "bringing",
    ];
    let tokens = &talk.tokens;
    let front = &tokens[cue.start.saturating_sub(REACH)..cue.start];
    tokens[cue.clone()].iter().any(|t| t.is("new"))
        && tokens[cue.end - 1].is_any(words!["one", "ones", "new"])
        && front.iter().rev().take_while(|t| t.gap < Gap::Sentence).any(|t| t.is_any(GETTING))
}

/// "Tiller's lashed amidships", "the runner's still lashed with string": how something is held, and nothing put right.
fn is_held_so(talk: &Talk<'_>, cue: &Range<usize>, subject: Option<usize>) -> bool {
    let tokens = &talk.tokens;
    let steers = || {
        subject.and_then(|m| talk.mentions[m].gear()).is_some_and(|g| g.group == "steering")
            || tokens[cue.start.saturating_sub(4)..cue.start]
                .iter()
                .any(|t| t.is_any(words!["tiller", "helm", "wheel"]))
    };
    let still = cue.start > 0 && tokens[cue.start - 1].is("still");
    tokens[cue.start].is_any(words!["lashed", "taped", "tied", "bandaged"]) && (still || steers())
}

/// "New belt to go on": what is new and not on yet.
fn is_still_to_go(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let words = &talk.tokens[cue.clone()];
    words[0].is("new")
        && words.iter().any(|t| t.is_any(words!["to", "needs", "wants", "must", "goes", "not"]))
}

/// "Three goes and I was done in".
fn was_done_in(talk: &Talk<'_>, cue: &Range<usize>) -> bool {
    let tokens = &talk.tokens;
    tokens[cue.end - 1].is("done")
        && tokens.get(cue.end).is_some_and(|t| t.is("in") && t.gap == Gap::Space)
        && tokens.get(cue.end + 1).is_none_or(|t| t.gap >= Gap::Comma)
}
