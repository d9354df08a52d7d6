use proptest::prelude::*;

use crate::found::UtteranceKind;
use crate::text::decode;
use crate::{Hints, Note, read};

/// Reads bytes, and checks what holds for every note: places in order, within the source, on the bounds of its
/// characters; words within their utterance.
fn check(bytes: &[u8], name: &str) -> Note {
    let note = read(bytes, &Hints { name: name.to_owned(), ..Hints::default() });
    let decoded = decode(bytes);
    let starts: std::collections::HashSet<usize> = decoded
        .text
        .char_indices()
        .map(|(at, _)| at)
        .chain([decoded.text.len()])
        .map(|at| decoded.source_span(crate::Span::new(at, at)).start)
        .collect();
    let on_bounds = |span: crate::Span| {
        span.start <= span.end
            && span.end <= bytes.len()
            && starts.contains(&span.start)
            && starts.contains(&span.end)
    };
    let mut at = 0;
    for utterance in &note.utterances {
        assert!(on_bounds(utterance.span), "{utterance:?}");
        assert!(at <= utterance.span.start, "utterances in order: {utterance:?} after {at}");
        at = utterance.span.end;
        let mut word = utterance.span.start;
        for words in &utterance.words {
            assert!(
                on_bounds(*words)
                    && word <= words.start
                    && words.start < words.end
                    && words.end <= utterance.span.end,
                "{utterance:?}"
            );
            word = words.end;
        }
    }
    for span in note.notices.iter().filter_map(|n| n.span) {
        assert!(span.end <= bytes.len());
    }
    if note.utterances.is_empty() {
        assert!(note.notices.iter().any(|n| n.hint.is_some()), "a note without words says why");
    }
    note
}

/// Pieces of notes, put together at random they come near every branch.
fn scraps() -> impl Strategy<Value = String> {
    let scrap = prop::sample::select(vec![
        "WEBVTT\n",
        "\n",
        "\n\n",
        "\r\n",
        "\r",
        "NOTE ",
        "recorded ",
        "16 Aug 2026 10:12 UTC+10",
        "00:01.000 --> 00:02.000\n",
        "1\n",
        "00:00:01,000 --> 00:00:02,000\n",
        "[0:05] ",
        "(1:02:03) ",
        "[0:05 --> 0:07] ",
        "2026-08-29T09:35:00+10:00 ",
        "2026-08-29 9",
        "0935 ",
        "6.40 pm ",
        "Sat 29 / ",
        "Sun 30 Aug 2026",
        ". ",
        ", ",
        "# ",
        "## ",
        "- ",
        "- [x] ",
        "  - ",
        "| a | b |\n|---|---|\n",
        "| 1 | ",
        "> ",
        "**",
        "`",
        "```\n",
        "---\n",
        "<v Ros>",
        "</v>",
        "&amp;",
        "&#0;",
        "[Music]",
        "(wind noise)",
        "wind 12 kn",
        "twenty past seven",
        "half two",
        "°C",
        "♪",
        "é",
        "🌊",
        "\0",
        "local time ",
        "Hobart",
        "the sixteenth of august",
        "03/04/26",
        "-->",
        "99999999999999999999:00:00.000 --> 0:0",
        "\u{feff}",
        "5 to seven",
        "<!-- ",
        "<div>\n",
        "    ",
        "\t",
        "1. ",
        "~~",
        "\\",
        "![",
        "](",
        "Mon ",
        "0:00",
        "24:00",
        "2400 ",
        "+14:59",
        "Z",
    ]);
    prop::collection::vec(scrap, 0..40).prop_map(|scraps| scraps.concat())
}

proptest! {
    #[test]
    fn any_bytes_give_a_note(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        check(&bytes, "a.txt");
    }

    #[test]
    fn any_text_gives_a_note(text in "\\PC{0,200}", name in "\\PC{0,20}") {
        check(text.as_bytes(), &name);
    }

    #[test]
    fn any_scraps_give_a_note(text in scraps(), name in prop::sample::select(vec!["a.txt", "a.md", "2026-08-29-0935.vtt"])) {
        check(text.as_bytes(), name);
    }

    #[test]
    fn any_scraps_in_utf_16_give_a_note(text in scraps()) {
        let bytes: Vec<u8> = "\u{feff}".encode_utf16().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
        check(&bytes, "a.txt");
    }
}

#[test]
fn the_same_words_in_every_encoding_and_line_end() {
    let text = "Log, Sat 29 Aug 2026. Times UTC+10.\n\n0935 off. Air 9 °C\n  and cold\n1010 main + genoa\n";
    let plain = check(text.as_bytes(), "a.txt");
    assert_eq!(plain.format, "log");
    let said =
        |note: &Note| note.utterances.iter().map(|u| (u.text.clone(), u.kind, u.at)).collect::<Vec<_>>();
    let latin: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).expect("Latin-1")).collect();
    let utf16: Vec<u8> =
        "\u{feff}".encode_utf16().chain(text.encode_utf16()).flat_map(u16::to_be_bytes).collect();
    let mut all = vec![latin, utf16, format!("\u{feff}{text}").into_bytes()];
    all.extend(["\r", "\r\n", "\n\r"].map(|end| text.replace('\n', end).into_bytes()));
    for bytes in all {
        assert_eq!(said(&check(&bytes, "a.txt")), said(&plain), "{:?}", decode(&bytes).text);
    }
}

#[test]
fn formats_are_told_by_content() {
    for (text, format) in [
        ("WEBVTT\n\n00:01.000 --> 00:02.000\nhello there\n", "webvtt"),
        ("1\n00:00:01,000 --> 00:00:02,000\nhello there\n", "subrip"),
        ("[0:01] hello there\n", "stamped"),
        ("0:01 hello there\n0:04 and again\n", "stamped"),
        ("[00:00:01.000 --> 00:00:04.000]  hello there\n", "stamped"),
        ("2026-08-29T09:35:00+10:00 hello there\n", "dated"),
        (
            "[29/08/2026, 09:35] Ros: hello\n[29/08/2026, 09:36] Ned: there\n[29/08/2026, 09:40] Ros: bye\n",
            "messages",
        ),
        ("Sat 29 Aug 2026\n\n0935 off\n1010 main up\nhove to\n", "log"),
        ("9:35 am off\n10:10 am main up\n", "log"),
        ("[06:40] off\n[07:10] main up\n", "log"),
        ("# Jobs\n\nGrease the pump.\n", "markdown"),
        ("Jobs:\n- grease the pump\n- find the knife\n", "markdown"),
        ("Right, this is the one about the pump.\n", "prose"),
        ("Speeds at 1600 rpm: 4.8 kn\n2000 rpm: 5.9 kn\n2400 rpm: 6.6 kn\n", "prose"),
    ] {
        assert_eq!(check(text.as_bytes(), "a").format, format, "{text}");
    }
}

#[test]
fn hostile_sources_are_told_and_survived() {
    for (bytes, format, told) in [
        (&b""[..], "none", "found an empty file"),
        (b"\xFF\xFE", "none", "only a byte-order mark"),
        (b"WEBVTT", "webvtt", "found none in this webvtt file"),
        (b"PK\x03\x04....", "none", "a ZIP archive"),
        (b"\xFF\xFE\x00\xD8a\x00", "prose", "cannot be read"),
        (b"WEBVTT\n\n00:01.000 --> 00:99.000\nlost words\n", "webvtt", "expected cue times"),
        (
            b"1\n99:99 --> x\nwords\n\n2\n00:00:01,000 --> 00:00:02,000\nmore\n",
            "subrip",
            "expected cue times",
        ),
    ] {
        let note = check(bytes, "a.txt");
        assert_eq!(note.format, format);
        assert!(note.notices.iter().any(|n| n.message.contains(told)), "{told}: {:?}", note.notices);
    }
    let far = check(
        b"WEBVTT\n\nNOTE 16 Aug 2026 10:12\n\n99999999999999:00:00.000 --> 99999999999999:00:01.000\nfar\n",
        "a.vtt",
    );
    assert_eq!(far.utterances[1].kind, UtteranceKind::Cue);
    assert!(far.utterances[1].text == "far");
}

/// Ten megabytes on one line, of each sort of sign that something looks for: the cost stays linear. The bound is wide
/// for slow machines; anything quadratic takes hours.
#[test]
fn ten_megabytes_of_one_line() {
    const SIZE: usize = 10_000_000;
    for unit in [
        "a",
        "1:",
        "[",
        "(",
        "<",
        "&",
        "{\\",
        "2026-08-29 ",
        "*",
        "`",
        "|",
        "word. ",
        "\0",
        "é",
        "->",
        "[0:0",
        "~",
        "![",
        "♪",
    ] {
        let bytes = unit.repeat(SIZE / unit.len() / 10).into_bytes();
        let begin = std::time::Instant::now();
        let decoded = decode(&bytes);
        let cut = super::cut(&decoded.text, "a.txt");
        let settled = crate::when::settle(&decoded.text, &cut, &Hints::default());
        assert_eq!(settled.moments.len(), cut.pieces.len());
        assert!(begin.elapsed().as_secs() < 20, "{unit:?} took {:?}", begin.elapsed());
    }
}
