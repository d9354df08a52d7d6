//! The network: a part that listens to 30 s of sound, and a part that writes tokens of what it heard.
//!
//! Both are stacks of blocks of attention and feed-forward layers, as in Vaswani and others, Attention Is All You Need
//! (2017); sizes and order are those of OpenAI's whisper, `model.py`. From memory. A position is `state` numbers; heads
//! are columns of 64 of them.

use rayon::prelude::*;

use crate::Error;
use crate::file::{File, POSITIONS};
use crate::math::{
    HEAD, add, add_bias, add_bias_gelu, add_with_bias, dots, gelu, layer_norm, narrow, softmax, weigh,
    widen_all,
};
use crate::matrix::{Matrix, Size, multiply_alone};
use crate::mel::FRAMES;
use crate::weights::{Attention, Block, FEW, KERNEL, Linear, Memory, Norm, Taker, WritingBlock};

/// 1/√64: products of heads are brought down to the size of their numbers.
const ATTENTION_SCALE: f32 = 0.125;
/// Positions whose attention one thread works on at once. All positions are twelve times as many.
const SHARE: usize = 125;

/// The network with its weights, what it last heard, and the tokens that it was fed.
pub struct Network {
    state: usize,
    bands: usize,
    /// Tokens that it writes with in view.
    pub context: usize,
    first: Linear,
    second: Linear,
    positions: Vec<f32>,
    listening: Vec<Block>,
    heard_norm: Norm,
    tokens: Linear,
    text_positions: Vec<f32>,
    writing: Vec<WritingBlock>,
    written_norm: Norm,
    /// Of each block that writes: what was heard.
    heard: Vec<Memory>,
    /// Of each block that writes: the tokens.
    fed: Vec<Memory>,
    room: Room,
}

/// Room for what is counted on the way, kept from one time to the next.
#[derive(Default)]
struct Room {
    wide: Vec<f32>,
    normed: Vec<f32>,
    query: Vec<f32>,
    key: Vec<f32>,
    value: Vec<f32>,
    heads: Vec<f32>,
    middle: Vec<f32>,
    out: Vec<f32>,
}

impl Norm {
    fn apply(&self, rows: &[f32], out: &mut Vec<f32>) {
        out.resize(rows.len(), 0.0);
        layer_norm(rows, out, &self.weights, &self.bias);
    }
}

impl Network {
    /// Takes the weights out of a file. Errors: a tensor that is missing or of another shape.
    pub fn new(file: &mut File) -> Result<Self, Error> {
        let (state, bands, context, layers) = (file.state, file.bands, file.text_context, file.text_layers);
        let mut take = Taker(file);
        Ok(Self {
            state,
            bands,
            context,
            first: take.convolution("encoder.conv1", bands)?,
            second: take.convolution("encoder.conv2", state)?,
            positions: take.positions("encoder", POSITIONS)?,
            listening: take.listening()?,
            heard_norm: take.norm("encoder.ln_post")?,
            tokens: take.tokens()?,
            text_positions: take.positions("decoder", context)?,
            writing: take.writing()?,
            written_norm: take.norm("decoder.ln")?,
            heard: Vec::new(),
            fed: vec![Memory::room(context * state); layers],
            room: Room::default(),
        })
    }

    /// Listens to 3,000 frames, band after band, and keeps what it heard.
    pub fn listen(&mut self, mel: &[f32]) {
        let mut positions = self.convolve(mel);
        for block in &self.listening {
            look_around(&block.own, &mut positions, &mut self.room);
            feed_forward(block, &mut positions, &mut self.room);
        }
        self.heard_norm.apply(&positions, &mut self.room.normed);
        self.keep_heard();
    }

    /// Two convolutions, the second of every other frame, and each position's place.
    fn convolve(&mut self, mel: &[f32]) -> Vec<f32> {
        let Room { wide, out, .. } = &mut self.room;
        let mut frames = vec![0.0; FRAMES * self.bands];
        for (band, numbers) in mel.chunks_exact(FRAMES).enumerate() {
            for (frame, number) in numbers.iter().enumerate() {
                frames[frame * self.bands + band] = *number;
            }
        }
        self.first.multiply(out, &neighbours(&frames, self.bands, 1), wide);
        add_bias_gelu(out, self.first.bias());
        let rows = neighbours(out, self.state, FRAMES / POSITIONS);
        self.second.multiply(out, &rows, wide);
        add_bias_gelu(out, self.second.bias());
        let mut positions = self.positions.clone();
        add(&mut positions, out);
        positions
    }

    /// What was heard, as keys and values for each block that writes.
    fn keep_heard(&mut self) {
        let Room { wide, normed, key, value, .. } = &mut self.room;
        self.heard.clear();
        for block in &self.writing {
            block.heard.key.multiply(key, normed, wide);
            block.heard.value.multiply(value, normed, wide);
            add_bias(value, block.heard.value.bias());
            let keys = narrow(&split(key, self.state));
            self.heard.push(Memory { keys, values: narrow(&split(value, self.state)) });
        }
    }

    /// Feeds tokens behind `past` that were fed already; `logits` gets how likely each token is to be the next, as
    /// logarithms that are not yet brought to a sum.
    ///
    /// Tokens are at least one, and with those of the past no more than the context.
    pub fn write(&mut self, tokens: &[u32], past: usize, logits: &mut Vec<f32>) {
        let mut positions = self.embed(tokens, past);
        let Self { writing, fed, heard, room, context, .. } = self;
        for ((WritingBlock { block, heard: attention }, fed), heard) in writing.iter().zip(fed).zip(&*heard) {
            look_back(&block.own, &mut positions, fed, past, *context, room);
            look_at_heard(attention, &mut positions, heard, room);
            feed_forward_few(block, &mut positions, room);
        }
        let last = &positions[positions.len() - self.state..];
        self.written_norm.apply(last, &mut self.room.normed);
        self.tokens.apply(logits, &self.room.normed, &mut self.room.wide);
    }

    /// Tokens as numbers, with their places.
    fn embed(&self, tokens: &[u32], past: usize) -> Vec<f32> {
        let mut positions = Vec::with_capacity(tokens.len() * self.state);
        let places = self.text_positions.chunks_exact(self.state).skip(past);
        for (token, place) in tokens.iter().zip(places) {
            let token = &self.tokens.weights[*token as usize * self.state..][..self.state];
            let sum = |(token, place): (&u16, &f32)| half::f16::from_bits(*token).to_f32() + place;
            positions.extend(token.iter().zip(place).map(sum));
        }
        positions
    }
}

/// Rows of three frames, one for every `step` frames of so many channels, with an empty one before and behind all.
fn neighbours(frames: &[f32], channels: usize, step: usize) -> Vec<f32> {
    let mut padded = vec![0.0; frames.len() + 2 * channels];
    padded[channels..][..frames.len()].copy_from_slice(frames);
    let count = frames.len() / channels / step;
    let mut rows = Vec::with_capacity(count * KERNEL * channels);
    for n in 0..count {
        rows.extend_from_slice(&padded[n * step * channels..][..KERNEL * channels]);
    }
    rows
}

/// Rows of all heads, cut up into head after head.
fn split(rows: &[f32], state: usize) -> Vec<f32> {
    let mut out = Vec::with_capacity(rows.len());
    for head in (0..state).step_by(HEAD) {
        out.extend(rows.chunks_exact(state).flat_map(|row| &row[head..][..HEAD]));
    }
    out
}

/// Rows of all heads, put together from head after head.
fn merge(heads: &[f32], state: usize, out: &mut Vec<f32>) {
    out.resize(heads.len(), 0.0);
    let rows = heads.len() / state;
    for (n, head) in heads.chunks_exact(rows * HEAD).enumerate() {
        for (row, from) in out.chunks_exact_mut(state).zip(head.chunks_exact(HEAD)) {
            row[n * HEAD..][..HEAD].copy_from_slice(from);
        }
    }
}

/// Attention of all positions that were listened to, to each other.
fn look_around(attention: &Attention, positions: &mut [f32], room: &mut Room) {
    let Room { wide, normed, query, key, value, heads, out, .. } = room;
    let state = attention.out.outputs;
    attention.norm.apply(positions, normed);
    attention.query.multiply(query, normed, wide);
    add_bias(query, attention.query.bias());
    attention.key.multiply(key, normed, wide);
    attention.value.multiply(value, normed, wide);
    add_bias(value, attention.value.bias());
    heads.resize(positions.len(), 0.0);
    let work = |(n, out): (usize, &mut [f32])| {
        let (head, row) = (n / (POSITIONS / SHARE) * HEAD, n % (POSITIONS / SHARE) * SHARE);
        let mut scores = vec![0.0; SHARE * POSITIONS];
        let queries = Matrix::rows(&query[row * state + head..], state);
        let size = Size { rows: SHARE, columns: POSITIONS, depth: HEAD };
        multiply_alone(&mut scores, size, queries, Matrix::turned(&key[head..], state));
        softmax(&mut scores, POSITIONS, ATTENTION_SCALE);
        let size = Size { rows: SHARE, columns: HEAD, depth: POSITIONS };
        multiply_alone(out, size, Matrix::rows(&scores, POSITIONS), Matrix::rows(&value[head..], state));
    };
    heads.par_chunks_mut(SHARE * HEAD).enumerate().for_each(work);
    merge(heads, state, normed);
    attention.out.multiply(out, normed, wide);
    add_with_bias(positions, out, attention.out.bias());
}

/// Feed-forward layers of all positions that were listened to.
fn feed_forward(block: &Block, positions: &mut [f32], room: &mut Room) {
    let Room { wide, normed, middle, out, .. } = room;
    block.norm.apply(positions, normed);
    block.up.multiply(middle, normed, wide);
    add_bias_gelu(middle, block.up.bias());
    block.down.multiply(out, middle, wide);
    add_with_bias(positions, out, block.down.bias());
}

/// Attention of tokens to themselves and to those before them, which `fed` gets to know.
fn look_back(
    attention: &Attention,
    positions: &mut [f32],
    fed: &mut Memory,
    past: usize,
    context: usize,
    room: &mut Room,
) {
    let Room { wide, normed, query, key, value, out, .. } = room;
    let state = attention.out.outputs;
    attention.norm.apply(positions, normed);
    attention.query.apply(query, normed, wide);
    attention.key.apply(key, normed, wide);
    attention.value.apply(value, normed, wide);
    for (from, to) in [(key, &mut fed.keys), (value, &mut fed.values)] {
        for (n, row) in narrow(from).chunks_exact(state).enumerate() {
            for (from, to) in row.chunks_exact(HEAD).zip(to.chunks_exact_mut(context * HEAD)) {
                to[(past + n) * HEAD..][..HEAD].copy_from_slice(from);
            }
        }
    }
    normed.fill(0.0);
    let mut scores = vec![0.0; context];
    for (n, (out, query)) in normed.chunks_exact_mut(state).zip(query.chunks_exact(state)).enumerate() {
        // A token sees those before it and itself.
        let scores = &mut scores[..past + n + 1];
        let memory = fed.keys.chunks_exact(context * HEAD).zip(fed.values.chunks_exact(context * HEAD));
        let heads = out.chunks_exact_mut(HEAD).zip(query.chunks_exact(HEAD));
        for ((out, query), (keys, values)) in heads.zip(memory) {
            dots(scores, keys, query);
            softmax(scores, past + n + 1, ATTENTION_SCALE);
            weigh(out, scores, values);
        }
    }
    attention.out.apply(out, normed, wide);
    add(positions, out);
}

/// Attention of tokens to what was heard.
fn look_at_heard(attention: &Attention, positions: &mut [f32], heard: &Memory, room: &mut Room) {
    let Room { wide, normed, query, heads, out, .. } = room;
    let state = attention.out.outputs;
    let tokens = positions.len() / state;
    attention.norm.apply(positions, normed);
    attention.query.apply(query, normed, wide);
    heads.clear();
    heads.resize(positions.len(), 0.0);
    let work = |(n, out): (usize, &mut [f32])| {
        let keys = &heard.keys[n * POSITIONS * HEAD..][..POSITIONS * HEAD];
        let values = &heard.values[n * POSITIONS * HEAD..][..POSITIONS * HEAD];
        let look = if tokens <= FEW { look_one_by_one } else { look_together };
        look(out, &query[n * HEAD..], state, keys, values);
    };
    heads.par_chunks_mut(tokens * HEAD).enumerate().for_each(work);
    merge(heads, state, normed);
    attention.out.apply(out, normed, wide);
    add(positions, out);
}

/// One head of few tokens: `out` has zeros in it; queries lie `state` apart.
fn look_one_by_one(out: &mut [f32], queries: &[f32], state: usize, keys: &[u16], values: &[u16]) {
    let mut scores = vec![0.0; POSITIONS];
    for (out, query) in out.chunks_exact_mut(HEAD).zip(queries.chunks(state)) {
        dots(&mut scores, keys, &query[..HEAD]);
        softmax(&mut scores, POSITIONS, ATTENTION_SCALE);
        weigh(out, &scores, values);
    }
}

/// One head of many tokens; queries lie `state` apart.
fn look_together(out: &mut [f32], queries: &[f32], state: usize, keys: &[u16], values: &[u16]) {
    let tokens = out.len() / HEAD;
    let (mut scores, mut wide) = (vec![0.0; tokens * POSITIONS], Vec::new());
    widen_all(keys, &mut wide);
    let size = Size { rows: tokens, columns: POSITIONS, depth: HEAD };
    multiply_alone(&mut scores, size, Matrix::rows(queries, state), Matrix::turned(&wide, HEAD));
    softmax(&mut scores, POSITIONS, ATTENTION_SCALE);
    widen_all(values, &mut wide);
    let size = Size { rows: tokens, columns: HEAD, depth: POSITIONS };
    multiply_alone(out, size, Matrix::rows(&scores, POSITIONS), Matrix::rows(&wide, HEAD));
}

/// Feed-forward layers of tokens.
fn feed_forward_few(block: &Block, positions: &mut [f32], room: &mut Room) {
    let Room { wide, normed, middle, out, .. } = room;
    block.norm.apply(positions, normed);
    block.up.apply(middle, normed, wide);
    gelu(middle);
    block.down.apply(out, middle, wide);
    add(positions, out);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_are_cut_up_and_put_together_again() {
        let rows: Vec<f32> = (0..3 * 2 * HEAD).map(|n| n as f32).collect();
        let heads = split(&rows, 2 * HEAD);
        assert_eq!(heads[HEAD], rows[2 * HEAD]);
        assert_eq!(heads[3 * HEAD], rows[HEAD]);
        let mut out = Vec::new();
        merge(&heads, 2 * HEAD, &mut out);
        assert_eq!(out, rows);
    }

    #[test]
    fn neighbours_lie_behind_one_another() {
        let frames = [1.0, 2.0, 3.0, 4.0];
        assert_eq!(neighbours(&frames, 1, 1), [0.0, 1.0, 2.0, 1.0, 2.0, 3.0, 2.0, 3.0, 4.0, 3.0, 4.0, 0.0]);
        assert_eq!(neighbours(&frames, 1, 2), [0.0, 1.0, 2.0, 2.0, 3.0, 4.0]);
        assert_eq!(neighbours(&frames, 2, 1), [0.0, 0.0, 1.0, 2.0, 3.0, 4.0, 1.0, 2.0, 3.0, 4.0, 0.0, 0.0]);
    }

    #[test]
    fn few_tokens_and_many_look_alike() {
        let numbers = crate::math::tests::numbers;
        let (keys, values) = (narrow(&numbers(POSITIONS * HEAD, 1)), narrow(&numbers(POSITIONS * HEAD, 2)));
        let (state, queries) = (2 * HEAD, numbers(2 * 2 * HEAD, 3));
        let (mut few, mut many) = (vec![0.0; 2 * HEAD], vec![0.0; 2 * HEAD]);
        look_one_by_one(&mut few, &queries, state, &keys, &values);
        look_together(&mut many, &queries, state, &keys, &values);
        for (few, many) in few.iter().zip(&many) {
            assert!((few - many).abs() < 1e-5, "{few} {many}");
        }
    }
}
