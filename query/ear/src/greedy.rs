//! Writes down what is heard: the likeliest token each time, until the end or until times say where to listen on; then
//! cuts the tokens into segments by their times.
//!
//! Source: whisper.cpp's `whisper_full` with one temperature, from memory. Frames are hundredths of a second.

use crate::mel::{FRAMES, Mel};
use crate::network::Network;
use crate::rules::{NEVER, forbid, log_softmax, time_over_words};
use crate::vocabulary::Vocabulary;

/// Frames of a step of time: 20 ms.
const TIME_STEP: i64 = 2;
/// Fewer frames than this are not listened to.
const LEAST_FRAMES: i64 = 10;
/// With fewer frames left than this, the prompt would be repeated rather than the sound written down.
const PROMPTED_FRAMES: i64 = 500;
/// Where the context ends and times have not come further than this, what was written is no text.
const LEAST_PROGRESS: i64 = WINDOW / 2;
/// Frames that are listened to at once.
const WINDOW: i64 = FRAMES as i64;
/// Nobody speaks where that is likelier than this …
const NO_SPEECH: f32 = 0.6;
/// … and the tokens are on the average less likely than this, as a logarithm.
const UNSURE: f32 = -1.0;

/// A token that was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Token {
    pub id: u32,
    /// How likely it was, 0 to 1.
    pub probability: f32,
    log_probability: f32,
    /// The likeliest time where it stands, as a token.
    time: u32,
}

/// What was said between two frames.
#[derive(Clone, Debug, PartialEq)]
pub struct Segment {
    pub from: i64,
    pub until: i64,
    pub no_speech: f32,
    pub tokens: Vec<Token>,
}

/// Hears what is in a spectrogram, window after window.
pub fn hear(network: &mut Network, vocabulary: &Vocabulary, mel: &Mel, prompt: &str) -> Vec<Segment> {
    let (mut from, end) = (0, mel.spoken as i64);
    let mut past = vocabulary.tokens(prompt);
    let mut segments = Vec::new();
    let mut writer = Writer { network, vocabulary, logits: Vec::new(), log_probabilities: Vec::new() };
    while from + LEAST_FRAMES < end {
        writer.network.listen(&mel.window(from as usize));
        if from > 0 && from + PROMPTED_FRAMES >= end {
            past.clear();
        }
        let text = writer.write(&mut past, end - from);
        if !text.silent() {
            past.extend(text.tokens.iter().take(text.kept).map(|token| token.id));
            cut(&text, vocabulary, from, &mut segments);
        }
        from += text.progress(vocabulary, end - from);
    }
    segments
}

/// What was written of a window.
struct Text {
    tokens: Vec<Token>,
    no_speech: f32,
    /// Tokens up to the last time; those behind it are heard again.
    kept: usize,
    /// Frames up to the last time, if one came.
    last_time: Option<i64>,
}

/// What follows on a token.
#[derive(Debug, PartialEq)]
enum Next {
    /// Another.
    Token,
    /// The text ends here.
    End,
    /// It is no text that one could go by.
    Failed,
}

impl Text {
    fn frames(&self) -> i64 {
        self.last_time.unwrap_or(WINDOW)
    }

    /// Takes a token. `left` are the frames of sound from the window's beginning, `most` is how many tokens there may be.
    fn take(&mut self, token: Token, vocabulary: &Vocabulary, left: i64, most: usize) -> Next {
        self.tokens.push(token);
        let count = self.tokens.len();
        if token.id > vocabulary.times {
            let time = TIME_STEP * i64::from(token.id - vocabulary.times);
            if self.last_time.is_some_and(|last| last > time) && self.kept < count - 1 {
                return Next::Failed;
            }
            self.last_time = Some(time);
            self.kept = count;
        }
        let heard_all = self.frames() + LEAST_FRAMES >= left;
        if token.id == vocabulary.end || self.last_time.is_some() && heard_all {
            if self.kept == 0 && !heard_all {
                return Next::Failed;
            }
            if self.kept == 0 {
                self.kept = count;
            }
            return Next::End;
        }
        if count == most && (self.kept == 0 || self.frames() < LEAST_PROGRESS) {
            return Next::Failed;
        }
        Next::Token
    }

    /// Whether nobody spoke, and the tokens are guesses.
    fn silent(&self) -> bool {
        let sum: f32 = self.tokens.iter().map(|token| token.log_probability).sum();
        self.no_speech > NO_SPEECH && sum / (self.tokens.len().max(1) as f32) < UNSURE
    }

    /// Frames to go on by: to the last time, or to the window's end if a single time says that nothing is left in it.
    fn progress(&self, vocabulary: &Vocabulary, left: i64) -> i64 {
        match self.tokens.as_slice() {
            [.., before, last] if before.id < vocabulary.times && last.id > vocabulary.times => {
                left.min(WINDOW)
            }
            _ => self.frames(),
        }
    }
}

struct Writer<'a> {
    network: &'a mut Network,
    vocabulary: &'a Vocabulary,
    logits: Vec<f32>,
    log_probabilities: Vec<f32>,
}

impl Writer<'_> {
    /// Writes what is said in the window that was listened to, with `left` frames of sound from its beginning. Leaves in
    /// `past` what it had room for.
    fn write(&mut self, past: &mut Vec<u32>, left: i64) -> Text {
        // The other half of the context is for what is written, but for the marks at the beginning.
        let half = self.network.context / 2;
        past.drain(..past.len().saturating_sub(half - 1));
        let (begun, no_speech) = self.begin(past);
        let mut text = Text { tokens: Vec::new(), no_speech, kept: 0, last_time: None };
        let mut written = Vec::new();
        let most = half - 4;
        while written.len() < most {
            let last_time = text.last_time.map(|frames| (frames / TIME_STEP) as usize);
            forbid(&mut self.logits, self.vocabulary, &written, last_time);
            let token = self.choose();
            written.push(token.id);
            match text.take(token, self.vocabulary, left, most) {
                // What follows on the last token is not asked for.
                Next::Token if written.len() == most => {}
                Next::Token => {
                    self.network.write(&[token.id], begun + written.len() - 1, &mut self.logits);
                    continue;
                }
                Next::End => {}
                Next::Failed => return text,
            }
            break;
        }
        text.tokens.truncate(text.kept);
        text
    }

    /// Feeds what was said before and the marks at the beginning; how many tokens these are, and how likely it is that
    /// nobody speaks.
    fn begin(&mut self, past: &[u32]) -> (usize, f32) {
        let mut fed = Vec::new();
        if !past.is_empty() {
            fed.push(self.vocabulary.previous);
            fed.extend_from_slice(past);
        }
        fed.extend_from_slice(&self.vocabulary.beginning);
        self.network.write(&fed, 0, &mut self.logits);
        log_softmax(&self.logits, &mut self.log_probabilities);
        (fed.len(), self.log_probabilities[self.vocabulary.no_speech as usize].exp())
    }

    /// The likeliest of the tokens that may come.
    fn choose(&mut self) -> Token {
        log_softmax(&self.logits, &mut self.log_probabilities);
        time_over_words(&mut self.log_probabilities, self.vocabulary);
        let (times, count) = (self.vocabulary.times as usize, self.vocabulary.count);
        let (id, log_probability) = likeliest(&self.log_probabilities[..count]);
        let time = match id < times {
            true => times + likeliest(&self.log_probabilities[times..count]).0,
            false => id,
        };
        Token { id: id as u32, probability: log_probability.exp(), log_probability, time: time as u32 }
    }
}

/// The first of the greatest numbers, and where it stands.
fn likeliest(numbers: &[f32]) -> (usize, f32) {
    let greater = |best: (usize, f32), (n, number): (usize, &f32)| match *number > best.1 {
        true => (n, *number),
        false => best,
    };
    numbers.iter().enumerate().fold((0, NEVER), greater)
}

/// Cuts a text into segments at its times. `from` is the window's first frame.
fn cut(text: &Text, vocabulary: &Vocabulary, from: i64, out: &mut Vec<Segment>) {
    let Some(first) = text.tokens.first() else { return };
    let is_time = |token: &Token| token.id > vocabulary.times;
    let frame = |token: &Token| from + TIME_STEP * (i64::from(token.time) - i64::from(vocabulary.times));
    let mut put = |from, until, tokens: &[Token]| {
        if tokens.iter().any(|token| token.id < vocabulary.end) {
            out.push(Segment { from, until, no_speech: text.no_speech, tokens: tokens.to_vec() });
        }
    };
    let mut begin = frame(first);
    let mut rest = text.tokens.as_slice();
    while let Some(at) = rest.iter().position(is_time) {
        let end = frame(&rest[at]);
        put(begin, end, &rest[..=at]);
        // The segment's end is the next one's beginning, whatever the second time of a pair says.
        begin = end;
        let times = rest[at..].iter().take_while(|token| is_time(token)).count();
        rest = &rest[at + times..];
    }
    put(begin, from + text.frames(), rest);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::file::tests::small;

    const TIMES: u32 = 50_363;
    const END: u32 = 50_256;

    fn vocabulary() -> Vocabulary {
        Vocabulary::new(&small(&["a", "b"]))
    }

    fn token(id: u32) -> Token {
        Token { id, probability: 0.5, log_probability: 0.5_f32.ln(), time: id.max(TIMES) }
    }

    fn text() -> Text {
        Text { tokens: Vec::new(), no_speech: 0.0, kept: 0, last_time: None }
    }

    /// What follows on the last of these tokens, and how many are kept.
    fn taken(ids: &[u32], left: i64, most: usize) -> (Next, usize) {
        let mut text = text();
        let next = ids.iter().map(|id| text.take(token(*id), &vocabulary(), left, most)).last();
        (next.expect("at least one token"), text.kept)
    }

    #[test]
    fn tokens_are_kept_up_to_the_last_time() {
        assert_eq!(taken(&[TIMES, 0, 1, TIMES + 100, TIMES + 100, 0], 3_000, 220), (Next::Token, 5));
        assert_eq!(taken(&[TIMES, 0, TIMES + 100, END], 3_000, 220), (Next::End, 3));
        // The last time is within a tenth of a second of the sound's end.
        assert_eq!(taken(&[TIMES, 0, TIMES + 100], 210, 220), (Next::End, 3));
        assert_eq!(taken(&[TIMES, 0, TIMES + 100], 211, 220), (Next::Token, 3));
        // Without a time, a text is whole where it fills the window.
        assert_eq!(taken(&[0, 1, END], 3_000, 220), (Next::End, 3));
    }

    #[test]
    fn texts_that_go_nowhere_fail() {
        assert_eq!(taken(&[0, END], 5_000, 220).0, Next::Failed);
        assert_eq!(taken(&[0, 1, 0, 1], 5_000, 4).0, Next::Failed);
        assert_eq!(taken(&[0, TIMES + 100, 0, TIMES + 99], 5_000, 220).0, Next::Failed);
        assert_eq!(taken(&[0, TIMES + 749, TIMES + 749, 0], 5_000, 4).0, Next::Failed);
        assert_eq!(taken(&[0, TIMES + 750, TIMES + 750, 0], 5_000, 4).0, Next::Token);
    }

    #[test]
    fn segments_are_cut_at_times() {
        let ids = [TIMES, 0, 1, TIMES + 50, TIMES + 60, 0, TIMES + 90, TIMES + 90, 1];
        let tokens = ids.iter().map(|id| token(*id)).collect();
        let text = Text { tokens, last_time: Some(180), ..text() };
        let mut out = Vec::new();
        cut(&text, &vocabulary(), 1_000, &mut out);
        let found: Vec<_> = out.iter().map(|s| (s.from, s.until, s.tokens.len())).collect();
        assert_eq!(found, [(1_000, 1_100, 4), (1_100, 1_180, 2), (1_180, 1_180, 1)]);
    }

    #[test]
    fn a_single_time_at_the_end_says_that_nothing_is_left() {
        let progress = |ids: &[u32]| {
            let tokens = ids.iter().map(|id| token(*id)).collect();
            Text { tokens, last_time: Some(180), ..text() }.progress(&vocabulary(), 2_500)
        };
        assert_eq!(progress(&[0, TIMES + 90]), 2_500);
        assert_eq!(progress(&[0, TIMES + 90, TIMES + 90]), 180);
        assert_eq!(progress(&[]), 180);
    }

    #[test]
    fn guesses_where_nobody_speaks_are_dropped() {
        let silent = |no_speech, log_probability| {
            let tokens = vec![Token { log_probability, ..token(0) }];
            Text { tokens, no_speech, ..text() }.silent()
        };
        assert!(silent(0.7, -1.1) && !silent(0.5, -1.1) && !silent(0.7, -0.9));
    }

    #[test]
    fn the_first_of_the_likeliest_is_taken() {
        assert_eq!(likeliest(&[NEVER, -2.0, -1.0, -1.0]), (2, -1.0));
        assert_eq!(likeliest(&[NEVER, NEVER]), (0, NEVER));
    }
}
