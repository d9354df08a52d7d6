//! Whether a file is a recording, by its first bytes.

/// Bytes of a file's beginning that are enough to tell.
pub const HEAD: usize = 4_096;

/// Whether these are the first bytes of a recording. The name never counts: a text file stays one, whatever it is
/// called.
pub fn sniff(head: &[u8]) -> bool {
    let at = |from: usize, magic: &[u8]| head.get(from..from + magic.len()) == Some(magic);
    // RIFF and AIFF say what they hold eight bytes in; an MP4 or MOV opens with the size of its first box.
    let container = at(0, b"RIFF") && at(8, b"WAVE")
        || at(0, b"RF64") && at(8, b"WAVE")
        || at(0, b"FORM") && (at(8, b"AIFF") || at(8, b"AIFC"))
        || at(4, b"ftyp")
        || at(4, b"moov")
        || at(4, b"mdat")
        || at(4, b"wide")
        || at(0, b"fLaC")
        || at(0, b"OggS")
        || at(0, b"caff")
        || at(0, &[0x1a, 0x45, 0xdf, 0xa3])
        || at(0, b"ID3") && head.get(3).is_some_and(|version| (2..=4).contains(version));
    container || frames(head)
}

/// Whether the bytes are MPEG audio or raw AAC frames, one behind the other. Two of them are asked for: a text in UTF-16
/// begins like a single one.
fn frames(head: &[u8]) -> bool {
    let Some(length) = frame(head) else { return false };
    match head.get(length..) {
        Some(next) if next.len() >= 8 => frame(next).is_some(),
        _ => false,
    }
}

/// Length of the frame that begins here, from its header. ISO/IEC 11172-3 2.4.1.3 (layer III), ISO/IEC 13818-7 6.2
/// (ADTS).
fn frame(bytes: &[u8]) -> Option<usize> {
    let &[0xff, b, c, d, e, f, ..] = bytes else { return None };
    if b & 0xf6 == 0xf0 {
        let length = usize::from(d & 3) << 11 | usize::from(e) << 3 | usize::from(f >> 5);
        return (c >> 2 & 15 < 13 && length > 7).then_some(length);
    }
    if b & 0xe0 != 0xe0 || b >> 1 & 3 != 1 || b >> 3 & 3 == 1 {
        return None;
    }
    const KBIT: [[usize; 15]; 2] = [
        [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320],
        [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160],
    ];
    let first = b >> 3 & 3 == 3;
    let kbit = *KBIT[usize::from(!first)].get(usize::from(c >> 4))?;
    let rate = *[44_100, 48_000, 32_000].get(usize::from(c >> 2 & 3))?;
    let rate = match b >> 3 & 3 {
        3 => rate,
        2 => rate / 2,
        _ => rate / 4,
    };
    let slots = if first { 144 } else { 72 };
    (kbit > 0).then(|| slots * kbit * 1000 / rate + usize::from(c >> 1 & 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_and_other_files_are_no_recordings() {
        for bytes in [
            &b"Wind fifteen knots.\n"[..],
            b"WEBVTT\n\n00:01.000 --> 00:02.000\nCalm.\n",
            b"\xff\xfeW\0i\0n\0d\0 \0f\0i\0f\0t\0e\0e\0n\0",
            b"\xff\xd8\xff\xe0\0\x10JFIF\0",
            b"RIFF\0\0\0\0AVI LIST",
            b"ID3 is what I call the third idea",
            b"$IIMWV,1,R,10,N,A*00\r\n",
            b"",
            b"\xff",
        ] {
            assert!(!sniff(bytes), "{bytes:?}");
        }
    }

    #[test]
    fn frames_count_when_two_stand_behind_each_other() {
        // 128 kbit/s at 44.1 kHz: 144 * 128000 / 44100 = 417 bytes.
        let mut mp3 = vec![0; 900];
        mp3[..4].copy_from_slice(&[0xff, 0xfb, 0x90, 0x00]);
        assert!(!sniff(&mp3));
        mp3[417..421].copy_from_slice(&[0xff, 0xfb, 0x90, 0x00]);
        assert!(sniff(&mp3));
        assert!(sniff(b"RIFF\x24\0\0\0WAVEfmt "));
        assert!(sniff(b"\0\0\0\x20ftypM4A "));
    }
}
