//! A model's weights, taken out of its file by name, each with the shape that it must have.
//!
//! Names and shapes are those of OpenAI's whisper, `model.py`, from memory.

use crate::Error;
use crate::file::{File, Tensor};
use crate::math::{add_bias, matvec, widen_all};
use crate::matrix::{Matrix, Size, multiply};

/// Frames that a convolution sees at once.
pub const KERNEL: usize = 3;
/// How many times wider a feed-forward layer is in its middle.
const MIDDLE: usize = 4;
/// Up to so many inputs, rows of weights are multiplied one by one; for more it pays to widen the weights first.
pub const FEW: usize = 2;

/// A layer: rows of weights in 16 bits, and what is added.
pub struct Linear {
    pub weights: Vec<u16>,
    bias: Option<Vec<f32>>,
    /// Numbers that come out of it.
    pub outputs: usize,
    /// Numbers that go into it.
    inputs: usize,
}

impl Linear {
    /// What is added; only keys and words have none, and nobody asks for theirs.
    pub fn bias(&self) -> &[f32] {
        self.bias.as_deref().expect("checked when it was read")
    }

    /// Many inputs at once, without what is added. `wide` is room for the weights in 32 bits.
    pub fn multiply(&self, out: &mut Vec<f32>, inputs: &[f32], wide: &mut Vec<f32>) {
        let rows = inputs.len() / self.inputs;
        out.resize(rows * self.outputs, 0.0);
        widen_all(&self.weights, wide);
        let size = Size { rows, columns: self.outputs, depth: self.inputs };
        multiply(out, size, Matrix::rows(inputs, self.inputs), Matrix::turned(wide, self.inputs));
    }

    /// One input or some, with what is added.
    pub fn apply(&self, out: &mut Vec<f32>, inputs: &[f32], wide: &mut Vec<f32>) {
        let rows = inputs.len() / self.inputs;
        if rows > FEW {
            self.multiply(out, inputs, wide);
            if let Some(bias) = &self.bias {
                add_bias(out, bias);
            }
            return;
        }
        out.resize(rows * self.outputs, 0.0);
        for (out, inputs) in out.chunks_exact_mut(self.outputs).zip(inputs.chunks_exact(self.inputs)) {
            matvec(out, &self.weights, inputs, self.bias.as_deref());
        }
    }
}

/// Weights and bias of a layer's norm.
pub struct Norm {
    pub weights: Vec<f32>,
    pub bias: Vec<f32>,
}

/// What looks for what belongs together: a norm in front, then query, key and value, and what they come to.
pub struct Attention {
    pub norm: Norm,
    pub query: Linear,
    pub key: Linear,
    pub value: Linear,
    pub out: Linear,
}

/// A block of the part that listens or of the part that writes.
pub struct Block {
    /// Looks at its own positions.
    pub own: Attention,
    /// Feeds forward: a norm, up to the middle, down again.
    pub norm: Norm,
    pub up: Linear,
    pub down: Linear,
}

/// A block of the part that writes, with what looks at what was heard.
pub struct WritingBlock {
    pub block: Block,
    pub heard: Attention,
}

/// Takes tensors out of a file.
pub struct Taker<'a>(pub &'a mut File);

impl Taker<'_> {
    fn tensor(&mut self, name: &str, shape: &[usize]) -> Result<Tensor, Error> {
        let tensor = self.0.tensors.remove(name);
        let tensor = tensor.ok_or_else(|| Error::new(format!("expected the tensor {name}, found none")))?;
        // Biases of convolutions have a size of one behind theirs.
        let found: Vec<usize> = tensor.shape.iter().copied().filter(|size| *size != 1).collect();
        match found == shape {
            true => Ok(tensor),
            false => {
                Err(Error::new(format!("{name}: expected the shape {shape:?}, found {:?}", tensor.shape)))
            }
        }
    }

    /// Positions of `state` numbers each.
    pub fn positions(&mut self, side: &str, count: usize) -> Result<Vec<f32>, Error> {
        let state = self.0.state;
        Ok(self.tensor(&format!("{side}.positional_embedding"), &[count, state])?.wide())
    }

    /// What tokens are as numbers; turned around, it tells what numbers are as tokens.
    pub fn tokens(&mut self) -> Result<Linear, Error> {
        let (outputs, inputs) = (self.0.vocabulary, self.0.state);
        let weights = self.tensor("decoder.token_embedding.weight", &[outputs, inputs])?.narrow();
        Ok(Linear { weights, bias: None, outputs, inputs })
    }

    /// A layer's norm.
    pub fn norm(&mut self, name: &str) -> Result<Norm, Error> {
        let state = self.0.state;
        let weights = self.tensor(&format!("{name}.weight"), &[state])?.wide();
        Ok(Norm { weights, bias: self.tensor(&format!("{name}.bias"), &[state])?.wide() })
    }

    fn linear(&mut self, name: &str, outputs: usize, inputs: usize, biased: bool) -> Result<Linear, Error> {
        let weights = self.tensor(&format!("{name}.weight"), &[outputs, inputs])?.narrow();
        let bias = match biased {
            true => Some(self.tensor(&format!("{name}.bias"), &[outputs])?.wide()),
            false => None,
        };
        Ok(Linear { weights, bias, outputs, inputs })
    }

    fn attention(&mut self, name: &str) -> Result<Attention, Error> {
        let state = self.0.state;
        let norm = self.norm(&format!("{name}_ln"))?;
        let mut part = |part: &str| self.linear(&format!("{name}.{part}"), state, state, part != "key");
        Ok(Attention {
            norm,
            query: part("query")?,
            key: part("key")?,
            value: part("value")?,
            out: part("out")?,
        })
    }

    fn block(&mut self, name: &str) -> Result<Block, Error> {
        let state = self.0.state;
        Ok(Block {
            own: self.attention(&format!("{name}.attn"))?,
            norm: self.norm(&format!("{name}.mlp_ln"))?,
            up: self.linear(&format!("{name}.mlp.0"), MIDDLE * state, state, true)?,
            down: self.linear(&format!("{name}.mlp.2"), state, MIDDLE * state, true)?,
        })
    }

    /// Blocks of the part that listens.
    pub fn listening(&mut self) -> Result<Vec<Block>, Error> {
        (0..self.0.layers).map(|n| self.block(&format!("encoder.blocks.{n}"))).collect()
    }

    /// Blocks of the part that writes.
    pub fn writing(&mut self) -> Result<Vec<WritingBlock>, Error> {
        let layers = self.0.text_layers;
        let mut block = |n| {
            let name = format!("decoder.blocks.{n}");
            let heard = self.attention(&format!("{name}.cross_attn"))?;
            Ok(WritingBlock { block: self.block(&name)?, heard })
        };
        (0..layers).map(&mut block).collect()
    }

    /// A convolution as a layer over frames that lie behind one another: `[output][channel][frame]` in the file becomes
    /// `[output][frame][channel]`.
    pub fn convolution(&mut self, name: &str, channels: usize) -> Result<Linear, Error> {
        let (outputs, inputs) = (self.0.state, channels * KERNEL);
        let weights = self.tensor(&format!("{name}.weight"), &[outputs, channels, KERNEL])?.narrow();
        let mut turned = vec![0; weights.len()];
        for (turned, weights) in turned.chunks_exact_mut(inputs).zip(weights.chunks_exact(inputs)) {
            for (n, weight) in weights.iter().enumerate() {
                turned[n % KERNEL * channels + n / KERNEL] = *weight;
            }
        }
        let bias = Some(self.tensor(&format!("{name}.bias"), &[outputs])?.wide());
        Ok(Linear { weights: turned, bias, outputs, inputs })
    }
}

/// Keys and values of an attention, head after head, in 16 bits.
#[derive(Clone)]
pub struct Memory {
    pub keys: Vec<u16>,
    pub values: Vec<u16>,
}

impl Memory {
    /// Room for so many numbers.
    pub fn room(numbers: usize) -> Self {
        Self { keys: vec![0; numbers], values: vec![0; numbers] }
    }
}
