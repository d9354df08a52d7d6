//! A speech model in CTranslate2's format, turned into whisper.cpp's.
//!
//! The file, all numbers little-endian: version (6), the name of the layout with its length in front, the layout's revision,
//! the number of variables; each variable has its name, its sizes, its kind of number and its bytes. Weights that belong
//! together are kept as one (query, key and value), 8-bit weights with a scale a row. Source: CTranslate2's
//! `python/ctranslate2/specs/model_spec.py`, from memory. Every tensor that the other format asks for is looked for by
//! name, and its sizes are checked.

use std::collections::BTreeMap;
use std::io::{self, Write};

use half::f16;
use leadsman_ear::MAGIC;

use super::mel;

/// What is wrong with a model: expected and found.
pub(super) type Wrong = String;

/// Context of the listening part: 30 s in steps of 20 ms.
const CONTEXT: usize = 1_500;

struct Variable<'a> {
    sizes: Vec<usize>,
    kind: u8,
    bytes: &'a [u8],
}

/// A model that was taken apart.
pub(super) struct Parts<'a> {
    variables: BTreeMap<String, Variable<'a>>,
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    fn take(&mut self, length: usize) -> Result<&'a [u8], Wrong> {
        let taken = self.at.checked_add(length).and_then(|end| self.bytes.get(self.at..end));
        let taken = taken.ok_or_else(|| {
            let expected = self.at.saturating_add(length);
            format!("expected at least {expected} bytes, found {}: the model is cut short", self.bytes.len())
        })?;
        self.at += length;
        Ok(taken)
    }

    fn byte(&mut self) -> Result<u8, Wrong> {
        self.take(1).map(|bytes| bytes[0])
    }

    fn number(&mut self) -> Result<usize, Wrong> {
        self.take(4).map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize)
    }

    fn text(&mut self) -> Result<String, Wrong> {
        let length = self.take(2).map(|b| usize::from(u16::from_le_bytes([b[0], b[1]])))?;
        // The length counts a zero at the end.
        let bytes = self.take(length)?;
        Ok(String::from_utf8_lossy(bytes.strip_suffix(&[0]).unwrap_or(bytes)).into_owned())
    }
}

impl<'a> Parts<'a> {
    /// Takes a model apart. Errors: another format or version, another kind of model, cut short.
    pub fn read(bytes: &'a [u8]) -> Result<Self, Wrong> {
        let mut reader = Reader { bytes, at: 0 };
        let version = reader.number()?;
        if !(4..=7).contains(&version) {
            return Err(format!(
                "expected a model of CTranslate2's format, version 6, found version {version}"
            ));
        }
        let layout = reader.text()?;
        if layout != "WhisperSpec" {
            return Err(format!("expected a speech model (WhisperSpec), found {layout:?}"));
        }
        reader.number()?;
        let count = reader.number()?;
        let mut variables = BTreeMap::new();
        for _ in 0..count {
            let name = reader.text()?;
            let rank = usize::from(reader.byte()?);
            let sizes = (0..rank).map(|_| reader.number()).collect::<Result<Vec<_>, _>>()?;
            let kind = reader.byte()?;
            let length = reader.number()?;
            let bytes = reader.take(length)?;
            let width = match kind {
                0 | 3 => 4,
                1 => 1,
                2 | 4 | 5 => 2,
                _ => {
                    return Err(format!(
                        "{name}: expected a kind of number that is known here, found {kind}"
                    ));
                }
            };
            let numbers = sizes.iter().try_fold(1_usize, |all, size| all.checked_mul(*size));
            if numbers.and_then(|numbers| numbers.checked_mul(width)) != Some(length) {
                return Err(format!(
                    "{name}: expected {sizes:?} numbers of {width} bytes, found {length} bytes"
                ));
            }
            variables.insert(name, Variable { sizes, kind, bytes });
        }
        let aliases = reader.number()?;
        for _ in 0..aliases {
            reader.text()?;
            reader.text()?;
        }
        Ok(Self { variables })
    }

    fn sizes(&self, name: &str) -> Result<&[usize], Wrong> {
        let found =
            self.variables.get(name).ok_or_else(|| format!("expected the tensor {name}, found none"))?;
        Ok(&found.sizes)
    }

    /// A tensor's numbers, of the sizes that it must have.
    fn numbers(&self, name: &str, sizes: &[usize]) -> Result<Vec<f32>, Wrong> {
        let found = self.sizes(name)?;
        if found != sizes {
            return Err(format!("{name}: expected sizes {sizes:?}, found {found:?}"));
        }
        let Variable { kind, bytes, .. } = &self.variables[name];
        let pairs = || bytes.chunks_exact(2).map(|b| u16::from_le_bytes([b[0], b[1]]));
        match kind {
            0 => Ok(bytes.chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect()),
            4 => Ok(pairs().map(|bits| f16::from_bits(bits).to_f32()).collect()),
            5 => Ok(pairs().map(|bits| f32::from_bits(u32::from(bits) << 16)).collect()),
            1 => {
                let rows = sizes[0];
                let scale = self.numbers(&format!("{name}_scale"), &[rows])?;
                let width = bytes.len() / rows.max(1);
                if scale.iter().any(|scale| *scale == 0.0 || !scale.is_finite()) {
                    return Err(format!("{name}_scale: expected scales, found one of zero or none"));
                }
                let whole = bytes.iter().enumerate();
                Ok(whole.map(|(at, byte)| f32::from(*byte as i8) / scale[at / width.max(1)]).collect())
            }
            _ => Err(format!("{name}: expected weights, found numbers of kind {kind}")),
        }
    }

    fn layers(&self, side: &str) -> usize {
        (0..)
            .take_while(|n| self.variables.contains_key(&format!("{side}/layer_{n}/ffn/linear_0/weight")))
            .count()
    }

    fn heads(&self, side: &str) -> Result<u32, Wrong> {
        let name = format!("{side}/num_heads");
        let found = self.variables.get(&name).ok_or_else(|| format!("expected {name}, found none"))?;
        let heads = match (found.kind, found.bytes) {
            (1, [heads]) => Some(u32::from(*heads)),
            (2, [low, high]) => Some(u32::from(u16::from_le_bytes([*low, *high]))),
            (3, [a, b, c, d]) => Some(u32::from_le_bytes([*a, *b, *c, *d])),
            _ => None,
        };
        heads.ok_or_else(|| format!("{name}: expected one whole number, found {:?}", found.bytes))
    }
}

/// Writes a model in whisper.cpp's format. `vocabulary` are the words in the model's order, byte by byte, as the
/// tokenizer writes them.
pub(super) fn write(parts: &Parts<'_>, vocabulary: &[String], into: &mut impl Write) -> Result<(), Failed> {
    let &[words, state] = parts.sizes("decoder/embeddings/weight")? else {
        return Err(Failed::Wrong("decoder/embeddings/weight: expected two sizes".to_owned()));
    };
    let &[_, bands, _] = parts.sizes("encoder/conv1/weight")? else {
        return Err(Failed::Wrong("encoder/conv1/weight: expected three sizes".to_owned()));
    };
    let &[text_context, _] = parts.sizes("decoder/position_encodings/encodings")? else {
        return Err(Failed::Wrong("decoder/position_encodings/encodings: expected two sizes".to_owned()));
    };
    if !(vocabulary.len()..=vocabulary.len() + 8).contains(&words) {
        return Err(Failed::Wrong(format!(
            "expected a vocabulary of {words} words, found {}",
            vocabulary.len()
        )));
    }
    // The words proper; the signs behind them are known to the other format by their number.
    let end = vocabulary.iter().position(|word| word == "<|endoftext|>");
    let end = end.ok_or_else(|| "expected <|endoftext|> in the vocabulary, found none".to_owned())?;
    let (layers, text_layers) = (parts.layers("encoder"), parts.layers("decoder"));
    let sizes = [words, CONTEXT, state, 0, layers, text_context, state, 0, text_layers, bands, 1];
    let heads = [parts.heads("encoder")?, parts.heads("decoder")?];
    into.write_all(&MAGIC.to_le_bytes())?;
    for (n, size) in sizes.into_iter().enumerate() {
        let size = match n {
            3 => heads[0],
            7 => heads[1],
            _ => whole(size)?,
        };
        into.write_all(&size.to_le_bytes())?;
    }
    into.write_all(&whole(bands)?.to_le_bytes())?;
    into.write_all(&whole(mel::TURNS)?.to_le_bytes())?;
    for filter in mel::filters(bands) {
        into.write_all(&filter.to_le_bytes())?;
    }
    into.write_all(&whole(end)?.to_le_bytes())?;
    for word in &vocabulary[..end] {
        let bytes = bytes_of(word)?;
        into.write_all(&whole(bytes.len())?.to_le_bytes())?;
        into.write_all(&bytes)?;
    }
    let mut out = Tensors { parts, into, state };
    out.one(
        "encoder/position_encodings/encodings",
        "encoder.positional_embedding",
        &[CONTEXT, state],
        false,
    )?;
    for (conv, from) in [("conv1", bands), ("conv2", state)] {
        let sizes = [state, from, 3];
        out.one(&format!("encoder/{conv}/weight"), &format!("encoder.{conv}.weight"), &sizes, true)?;
        let bias = out.parts.numbers(&format!("encoder/{conv}/bias"), &[state])?;
        out.tensor(&format!("encoder.{conv}.bias"), &[state, 1], &bias, false)?;
    }
    out.norm("encoder/layer_norm", "encoder.ln_post")?;
    for n in 0..layers {
        out.layer(&format!("encoder/layer_{n}"), &format!("encoder.blocks.{n}"), false)?;
    }
    out.one(
        "decoder/position_encodings/encodings",
        "decoder.positional_embedding",
        &[text_context, state],
        false,
    )?;
    out.one("decoder/embeddings/weight", "decoder.token_embedding.weight", &[words, state], true)?;
    out.norm("decoder/layer_norm", "decoder.ln")?;
    for n in 0..text_layers {
        out.layer(&format!("decoder/layer_{n}"), &format!("decoder.blocks.{n}"), true)?;
    }
    Ok(())
}

fn whole(size: usize) -> Result<u32, Wrong> {
    u32::try_from(size).map_err(|_| format!("expected a size below 4 thousand million, found {size}"))
}

/// Why a model was not written.
#[derive(Debug)]
pub(super) enum Failed {
    /// The model is not as it should be.
    Wrong(Wrong),
    /// The disk.
    Disk(io::Error),
}

impl From<Wrong> for Failed {
    fn from(wrong: Wrong) -> Self {
        Failed::Wrong(wrong)
    }
}

impl From<io::Error> for Failed {
    fn from(error: io::Error) -> Self {
        Failed::Disk(error)
    }
}

struct Tensors<'p, 'a, W> {
    parts: &'p Parts<'a>,
    into: &'p mut W,
    state: usize,
}

impl<W: Write> Tensors<'_, '_, W> {
    /// One tensor. Weights are kept in two bytes, all else in four, as the other format has it.
    fn tensor(&mut self, name: &str, sizes: &[usize], numbers: &[f32], narrow: bool) -> Result<(), Failed> {
        let kind = u32::from(narrow);
        for number in [whole(sizes.len())?, whole(name.len())?, kind] {
            self.into.write_all(&number.to_le_bytes())?;
        }
        for size in sizes.iter().rev() {
            self.into.write_all(&whole(*size)?.to_le_bytes())?;
        }
        self.into.write_all(name.as_bytes())?;
        let mut bytes = Vec::with_capacity(numbers.len() * 4);
        for number in numbers {
            match narrow {
                true => bytes.extend(f16::from_f32(*number).to_le_bytes()),
                false => bytes.extend(number.to_le_bytes()),
            }
        }
        Ok(self.into.write_all(&bytes)?)
    }

    fn one(&mut self, from: &str, name: &str, sizes: &[usize], narrow: bool) -> Result<(), Failed> {
        let numbers = self.parts.numbers(from, sizes)?;
        self.tensor(name, sizes, &numbers, narrow)
    }

    fn norm(&mut self, from: &str, name: &str) -> Result<(), Failed> {
        let sizes = [self.state];
        self.one(&format!("{from}/gamma"), &format!("{name}.weight"), &sizes, false)?;
        self.one(&format!("{from}/beta"), &format!("{name}.bias"), &sizes, false)
    }

    /// Rows of a weight that is kept together with others, and of its bias.
    fn rows(&mut self, from: &str, parts: &[(&str, bool)], name: &str) -> Result<(), Failed> {
        let (state, count) = (self.state, parts.len());
        let weight = self.parts.numbers(&format!("{from}/weight"), &[state * count, state])?;
        let bias = self.parts.numbers(&format!("{from}/bias"), &[state * count])?;
        for (n, (part, biased)) in parts.iter().enumerate() {
            let rows = &weight[n * state * state..(n + 1) * state * state];
            self.tensor(&format!("{name}.{part}.weight"), &[state, state], rows, true)?;
            let bias = &bias[n * state..(n + 1) * state];
            if *biased {
                self.tensor(&format!("{name}.{part}.bias"), &[state], bias, false)?;
            } else if bias.iter().any(|number| *number != 0.0) {
                return Err(Failed::Wrong(format!(
                    "{from}/bias: expected no bias for the {part}, found one"
                )));
            }
        }
        Ok(())
    }

    fn layer(&mut self, from: &str, name: &str, writes: bool) -> Result<(), Failed> {
        const ALL: &[(&str, bool)] = &[("query", true), ("key", false), ("value", true)];
        let (state, wide) = (self.state, self.state * 4);
        self.norm(&format!("{from}/self_attention/layer_norm"), &format!("{name}.attn_ln"))?;
        self.rows(&format!("{from}/self_attention/linear_0"), ALL, &format!("{name}.attn"))?;
        self.rows(&format!("{from}/self_attention/linear_1"), &[("out", true)], &format!("{name}.attn"))?;
        if writes {
            let cross = format!("{name}.cross_attn");
            self.norm(&format!("{from}/attention/layer_norm"), &format!("{name}.cross_attn_ln"))?;
            self.rows(&format!("{from}/attention/linear_0"), &ALL[..1], &cross)?;
            self.rows(&format!("{from}/attention/linear_1"), &ALL[1..], &cross)?;
            self.rows(&format!("{from}/attention/linear_2"), &[("out", true)], &cross)?;
        }
        self.norm(&format!("{from}/ffn/layer_norm"), &format!("{name}.mlp_ln"))?;
        for (linear, mlp, sizes) in [("linear_0", "0", [wide, state]), ("linear_1", "2", [state, wide])] {
            self.one(
                &format!("{from}/ffn/{linear}/weight"),
                &format!("{name}.mlp.{mlp}.weight"),
                &sizes,
                true,
            )?;
            self.one(
                &format!("{from}/ffn/{linear}/bias"),
                &format!("{name}.mlp.{mlp}.bias"),
                &sizes[..1],
                false,
            )?;
        }
        Ok(())
    }
}

/// A word's bytes. The tokenizer writes each byte as a sign that can be seen: those that can be seen stand for themselves,
/// the others are moved up from U+0100 on, in their order. Source: GPT-2's `bytes_to_unicode`, from memory.
fn bytes_of(word: &str) -> Result<Vec<u8>, Wrong> {
    let seen =
        |byte: u32| (33..=126).contains(&byte) || (161..=172).contains(&byte) || (174..=255).contains(&byte);
    let hidden: Vec<u8> = (0..=255_u8).filter(|byte| !seen(u32::from(*byte))).collect();
    word.chars()
        .map(|sign| {
            let code = u32::from(sign);
            let moved = code.checked_sub(256).and_then(|n| hidden.get(n as usize).copied());
            let own = u8::try_from(code).ok().filter(|_| seen(code));
            own.or(moved).ok_or_else(|| format!("expected a word of the vocabulary, found {word:?}"))
        })
        .collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A variable of a file that is made up.
    fn variable(name: &str, sizes: &[usize], kind: u8, bytes: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        out.extend((name.len() as u16 + 1).to_le_bytes());
        out.extend(name.as_bytes());
        out.push(0);
        out.push(sizes.len() as u8);
        for size in sizes {
            out.extend((*size as u32).to_le_bytes());
        }
        out.push(kind);
        out.extend((bytes.len() as u32).to_le_bytes());
        out.extend(bytes);
        out
    }

    fn file(variables: &[Vec<u8>]) -> Vec<u8> {
        let mut out = 6_u32.to_le_bytes().to_vec();
        out.extend(12_u16.to_le_bytes());
        out.extend(b"WhisperSpec\0");
        out.extend(3_u32.to_le_bytes());
        out.extend((variables.len() as u32).to_le_bytes());
        out.extend(variables.concat());
        out.extend(0_u32.to_le_bytes());
        out
    }

    /// A whole model with a state of 64 and one layer each, its numbers a running row; 8-bit weights if `narrow`.
    pub(crate) fn small(narrow: bool) -> Vec<u8> {
        let mut seed = 0_u32;
        let mut all = Vec::new();
        let mut add = |name: &str, sizes: &[usize]| {
            let count: usize = sizes.iter().product();
            let mut next = || {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (seed >> 24) as f32 / 512.0 - 0.25
            };
            let key = name.ends_with("linear_0/bias") && name.contains("self_attention")
                || name.ends_with("attention/linear_1/bias");
            if narrow && sizes.len() == 2 && name.ends_with("weight") {
                let bytes: Vec<u8> = (0..count).map(|_| (next() * 400.0) as i8 as u8).collect();
                all.push(variable(name, sizes, 1, &bytes));
                let scale: Vec<u8> = (0..sizes[0]).flat_map(|_| 400.0_f32.to_le_bytes()).collect();
                all.push(variable(&format!("{name}_scale"), &sizes[..1], 0, &scale));
            } else {
                let bytes: Vec<u8> = (0..count)
                    .flat_map(|_| f16::from_f32(if key { 0.0 } else { next() }).to_le_bytes())
                    .collect();
                all.push(variable(name, sizes, 4, &bytes));
            }
        };
        add("encoder/position_encodings/encodings", &[1_500, 64]);
        add("encoder/conv1/weight", &[64, 80, 3]);
        add("encoder/conv1/bias", &[64]);
        add("encoder/conv2/weight", &[64, 64, 3]);
        add("encoder/conv2/bias", &[64]);
        add("decoder/position_encodings/encodings", &[448, 64]);
        add("decoder/embeddings/weight", &[51_864, 64]);
        for side in ["encoder", "decoder"] {
            let attentions: &[(&str, &[usize])] = match side {
                "encoder" => &[("self_attention", &[192, 64])],
                _ => &[("self_attention", &[192, 64]), ("attention", &[64, 128, 64])],
            };
            for norm in ["gamma", "beta"] {
                add(&format!("{side}/layer_norm/{norm}"), &[64]);
                add(&format!("{side}/layer_0/ffn/layer_norm/{norm}"), &[64]);
                for (attention, _) in attentions {
                    add(&format!("{side}/layer_0/{attention}/layer_norm/{norm}"), &[64]);
                }
            }
            for (attention, rows) in attentions {
                for (n, rows) in rows.iter().enumerate() {
                    add(&format!("{side}/layer_0/{attention}/linear_{n}/weight"), &[*rows, 64]);
                    add(&format!("{side}/layer_0/{attention}/linear_{n}/bias"), &[*rows]);
                }
            }
            for (n, sizes) in [[256, 64], [64, 256]].iter().enumerate() {
                add(&format!("{side}/layer_0/ffn/linear_{n}/weight"), sizes);
                add(&format!("{side}/layer_0/ffn/linear_{n}/bias"), &sizes[..1]);
            }
        }
        all.push(variable("encoder/num_heads", &[], 2, &1_u16.to_le_bytes()));
        all.push(variable("decoder/num_heads", &[], 2, &1_u16.to_le_bytes()));
        file(&all)
    }

    pub(crate) fn vocabulary() -> Vec<String> {
        (0..51_864).map(|n| if n == 50_256 { "<|endoftext|>".to_owned() } else { format!("Ġw{n}") }).collect()
    }

    fn converted(bytes: &[u8]) -> Result<Vec<u8>, String> {
        let parts = Parts::read(bytes)?;
        let mut out = Vec::new();
        match write(&parts, &vocabulary(), &mut out) {
            Ok(()) => Ok(out),
            Err(Failed::Wrong(wrong)) => Err(wrong),
            Err(Failed::Disk(error)) => panic!("{error}"),
        }
    }

    #[test]
    fn a_converted_model_is_one() {
        for narrow in [false, true] {
            let out = converted(&small(narrow)).expect("a model");
            let folder = tempfile::tempdir().expect("a folder");
            let path = folder.path().join("model.bin");
            std::fs::write(&path, &out).expect("a file");
            let model = super::super::Model::check(&path).expect("a model");
            assert!(model.english);
            std::fs::write(&path, &out[..out.len() - 1]).expect("a file");
            let error = super::super::Model::check(&path).expect_err("a model cut short");
            assert!(error.message.contains("cut short"), "{}", error.message);
        }
    }

    #[test]
    fn eight_bit_weights_come_to_the_same_numbers() {
        let scale: Vec<u8> = [4.0_f32, 8.0].iter().flat_map(|s| s.to_le_bytes()).collect();
        let bytes = file(&[
            variable("a/weight", &[2, 2], 1, &[4, 0xfc, 8, 16]),
            variable("a/weight_scale", &[2], 0, &scale),
        ]);
        let parts = Parts::read(&bytes).expect("variables");
        assert_eq!(parts.numbers("a/weight", &[2, 2]), Ok(vec![1.0, -1.0, 1.0, 2.0]));
        assert!(parts.numbers("a/weight", &[4, 1]).expect_err("other sizes").contains("expected sizes"));
    }

    #[test]
    fn models_that_are_none_say_what_is_wrong() {
        let error = |bytes: &[u8]| converted(bytes).expect_err("no model");
        let whole = small(false);
        assert!(error(&whole[..5_000]).contains("cut short"));
        assert!(error(b"\x09\0\0\0").contains("version 9"));
        assert!(error(b"\x06\0\0\0\x04\0Abc\0").contains("\"Abc\""));
        assert!(error(&file(&[])).contains("decoder/embeddings/weight"));
    }

    #[test]
    fn words_are_turned_back_to_bytes() {
        assert_eq!(bytes_of("Ġknots").as_deref(), Ok(&b" knots"[..]));
        assert_eq!(bytes_of("Â°").as_deref(), Ok("°".as_bytes()));
        assert_eq!(bytes_of("Ċ").as_deref(), Ok(&b"\n"[..]));
        assert!(bytes_of("帆").is_err());
    }
}
