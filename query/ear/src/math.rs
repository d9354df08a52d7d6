//! What a network needs besides products of matrices: plain loops that `pulp` builds once for each kind of processor and
//! chooses from when they run.
//!
//! Sums are kept in lanes, one for every number that a wide register may hold, and added up at the end. The order is
//! always the same, so that a sound gives the same words on every run, with any number of threads.

use pulp::Arch;
use rayon::prelude::*;

/// Lanes of a sum.
const LANES: usize = 16;
/// Lanes of a product with weights: four registers at once hide how long one step takes.
const WEIGHT_LANES: usize = 4 * LANES;
/// Numbers of an attention head, in every model of this family.
pub const HEAD: usize = 64;
/// Fewer weights than this are not worth sharing out among threads …
const SHARED_WEIGHTS: usize = 200_000;
/// … nor fewer numbers than this.
const SHARED_NUMBERS: usize = 50_000;
/// Keeps a layer's variance from being zero; the value that the models were trained with.
const LEAST_VARIANCE: f32 = 1e-5;

/// A function that is built for each kind of processor and chosen when it runs.
macro_rules! simd {
    ($(#[$meta:meta])* $visible:vis fn $name:ident($($arg:ident: $type:ty),*) $(-> $result:ty)? $body:block) => {
        $(#[$meta])*
        $visible fn $name<'a>($($arg: $type),*) $(-> $result)? {
            struct Kernel<'a> { $($arg: $type,)* lifetime: std::marker::PhantomData<&'a ()> }
            impl<'a> pulp::WithSimd for Kernel<'a> {
                type Output = simd!(@ $($result)?);
                #[inline(always)]
                fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
                    let Kernel { $($arg,)* .. } = self;
                    $body
                }
            }
            Arch::new().dispatch(Kernel { $($arg,)* lifetime: std::marker::PhantomData })
        }
    };
    (@ $result:ty) => { $result };
    (@) => { () };
}

/// Turns 32-bit numbers into 16-bit ones, rounded to the nearest.
pub fn narrow(numbers: &[f32]) -> Vec<u16> {
    use half::slice::{HalfBitsSliceExt, HalfFloatSliceExt};
    let mut out = vec![0u16; numbers.len()];
    out.reinterpret_cast_mut::<half::f16>().convert_from_f32_slice(numbers);
    out
}

/// A 16-bit number as a 32-bit one; true for all but infinity and what is not a number, which weights are not.
///
/// The bits are put where a 32-bit number has them; what is left is the difference of the exponents' zeros, 127 - 15.
#[inline(always)]
fn widen(half: u16) -> f32 {
    const SIGN_AND_NUMBER: i32 = 0x8fff_e000_u32 as i32;
    const TWO_TO_THE_112: f32 = f32::from_bits((127 + 127 - 15) << 23);
    let bits = (i32::from(half as i16) << 13) & SIGN_AND_NUMBER;
    f32::from_bits(bits as u32) * TWO_TO_THE_112
}

/// Turns 16-bit numbers into 32-bit ones; `to` gets as many as there are.
pub fn widen_all(from: &[u16], to: &mut Vec<f32>) {
    to.resize(from.len(), 0.0);
    widen_into(from, to);
}

simd! { fn widen_into(from: &'a [u16], to: &'a mut [f32]) {
    for (to, from) in to.iter_mut().zip(from) {
        *to = widen(*from);
    }
} }

/// The sum of weights times numbers.
#[inline(always)]
fn dot(weights: &[u16], numbers: &[f32]) -> f32 {
    let (weights, last_weights) = weights.as_chunks::<WEIGHT_LANES>();
    let (numbers, last_numbers) = numbers.as_chunks::<WEIGHT_LANES>();
    let mut lanes = [0.0f32; WEIGHT_LANES];
    for (weights, numbers) in weights.iter().zip(numbers) {
        for ((lane, weight), number) in lanes.iter_mut().zip(weights).zip(numbers) {
            *lane = widen(*weight).mul_add(*number, *lane);
        }
    }
    let mut sum = 0.0;
    for (weight, number) in last_weights.iter().zip(last_numbers) {
        sum += widen(*weight) * number;
    }
    for lane in 0..LANES {
        sum += (lanes[lane] + lanes[lane + LANES]) + (lanes[lane + 2 * LANES] + lanes[lane + 3 * LANES]);
    }
    sum
}

simd! { fn matvec_alone(out: &'a mut [f32], weights: &'a [u16], numbers: &'a [f32], bias: &'a [f32]) {
    for ((out, weights), bias) in out.iter_mut().zip(weights.chunks_exact(numbers.len())).zip(bias) {
        *out = dot(weights, numbers) + bias;
    }
} }

/// Writes each row of weights times the numbers, plus its bias if there is one.
pub fn matvec(out: &mut [f32], weights: &[u16], numbers: &[f32], bias: Option<&[f32]>) {
    let none;
    let bias = match bias {
        Some(bias) => bias,
        None => {
            none = vec![0.0; out.len()];
            &none
        }
    };
    let threads = rayon::current_num_threads();
    if threads == 1 || weights.len() < SHARED_WEIGHTS {
        return matvec_alone(out, weights, numbers, bias);
    }
    let rows = out.len().div_ceil(threads);
    out.par_chunks_mut(rows).enumerate().for_each(|(n, out)| {
        matvec_alone(out, &weights[n * rows * numbers.len()..], numbers, &bias[n * rows..]);
    });
}

simd! {
/// Writes each row of weights times the numbers, on this thread.
pub fn dots(out: &'a mut [f32], weights: &'a [u16], numbers: &'a [f32]) {
    for (out, weights) in out.iter_mut().zip(weights.chunks_exact(numbers.len())) {
        *out = dot(weights, numbers);
    }
} }

simd! {
/// Adds to a head the rows of other heads, each times its weight.
pub fn weigh(head: &'a mut [f32], weights: &'a [f32], rows: &'a [u16]) {
    let (rows, _) = rows.as_chunks::<HEAD>();
    let mut lanes = [0.0f32; HEAD];
    lanes.copy_from_slice(head);
    for (weight, row) in weights.iter().zip(rows) {
        for (lane, number) in lanes.iter_mut().zip(row) {
            *lane = widen(*number).mul_add(*weight, *lane);
        }
    }
    head.copy_from_slice(&lanes);
} }

/// e to the x, right but for the last two binary digits or so; x is taken for no more than ±87.
///
/// x is parted into n·ln 2 and a rest, for which a polynomial stands. Source: Cephes, `expf.c`, from memory.
#[inline(always)]
fn exp(x: f32) -> f32 {
    const MOST: f32 = 87.0;
    /// 1.5 · 2^23: a number that this was added to has no digits behind the point.
    const ROUNDER: f32 = 12_582_912.0;
    const LN_2_FRONT: f32 = 0.693_359_4;
    const LN_2_REST: f32 = -2.121_944_4e-4;
    // Two comparisons are quicker than `clamp`, which must look for what is not a number.
    let x = if x < -MOST { -MOST } else { x };
    let x = if x > MOST { MOST } else { x };
    let n = (x * std::f32::consts::LOG2_E + ROUNDER) - ROUNDER;
    let rest = n.mul_add(-LN_2_FRONT, x);
    let rest = n.mul_add(-LN_2_REST, rest);
    let polynomial = 1.987_569e-4f32
        .mul_add(rest, 1.398_2e-3)
        .mul_add(rest, 8.333_452e-3)
        .mul_add(rest, 4.166_579_6e-2)
        .mul_add(rest, 1.666_666_5e-1)
        .mul_add(rest, 0.5);
    let power = polynomial.mul_add(rest * rest, rest + 1.0);
    // Two to the n by the number's own exponent: n + ROUNDER has n in its lowest bits.
    let bits = (n + ROUNDER).to_bits();
    power * f32::from_bits(bits.wrapping_add(127) << 23)
}

simd! {
/// The sum of e to the (x - max).
pub fn sum_exp(numbers: &'a [f32], max: f32) -> f32 {
    let (chunks, last) = numbers.as_chunks::<{ 2 * LANES }>();
    let mut sum = 0.0;
    for number in last {
        sum += exp(*number - max);
    }
    let mut lanes = [0.0f32; 2 * LANES];
    for chunk in chunks {
        for (lane, number) in lanes.iter_mut().zip(chunk) {
            *lane += exp(*number - max);
        }
    }
    for lane in lanes {
        sum += lane;
    }
    sum
} }

#[inline(always)]
fn greatest(numbers: &[f32]) -> f32 {
    let (chunks, last) = numbers.as_chunks::<LANES>();
    let mut lanes = [f32::NEG_INFINITY; LANES];
    for chunk in chunks {
        for (lane, number) in lanes.iter_mut().zip(chunk) {
            *lane = if *number > *lane { *number } else { *lane };
        }
    }
    let mut greatest = f32::NEG_INFINITY;
    for number in last.iter().chain(&lanes) {
        greatest = if *number > greatest { *number } else { greatest };
    }
    greatest
}

simd! {
/// Turns each row of `length` numbers, times `scale`, into shares of one, by their powers of e.
pub fn softmax(rows: &'a mut [f32], length: usize, scale: f32) {
    for row in rows.chunks_exact_mut(length) {
        let max = greatest(row);
        let (chunks, last) = row.as_chunks_mut::<LANES>();
        let mut lanes = [0.0f32; LANES];
        for chunk in chunks {
            for (lane, number) in lanes.iter_mut().zip(chunk) {
                *number = exp((*number - max) * scale);
                *lane += *number;
            }
        }
        let mut sum = 0.0;
        for number in last {
            *number = exp((*number - max) * scale);
            sum += *number;
        }
        for lane in lanes {
            sum += lane;
        }
        let share = 1.0 / sum;
        for number in row {
            *number *= share;
        }
    }
} }

/// Gauss's error linear unit by its usual stand-in, x/2 · (1 + tanh(√(2/π)·(x + 0.044715·x³))), written with one power of
/// e. Source: Hendrycks and Gimpel, Gaussian Error Linear Units (2016), from memory.
#[inline(always)]
fn gelu_of(x: f32) -> f32 {
    /// 2·√(2/π)
    const TWICE_ROOT: f32 = 1.595_769;
    const CUBIC: f32 = 0.044_715;
    let u = TWICE_ROOT * x * (CUBIC * x).mul_add(x, 1.0);
    x / (1.0 + exp(-u))
}

simd! { fn gelu_alone(numbers: &'a mut [f32]) {
    for number in numbers {
        *number = gelu_of(*number);
    }
} }

simd! { fn add_bias_gelu_alone(rows: &'a mut [f32], bias: &'a [f32]) {
    for row in rows.chunks_exact_mut(bias.len()) {
        for (number, bias) in row.iter_mut().zip(bias) {
            *number = gelu_of(*number + bias);
        }
    }
} }

simd! { fn add_bias_alone(rows: &'a mut [f32], bias: &'a [f32]) {
    for row in rows.chunks_exact_mut(bias.len()) {
        for (number, bias) in row.iter_mut().zip(bias) {
            *number += bias;
        }
    }
} }

/// x = gelu(x).
pub fn gelu(numbers: &mut [f32]) {
    share(numbers, 1, gelu_alone);
}

/// x = gelu(x + bias), row after row.
pub fn add_bias_gelu(rows: &mut [f32], bias: &[f32]) {
    share(rows, bias.len(), |rows| add_bias_gelu_alone(rows, bias));
}

/// x += bias, row after row.
pub fn add_bias(rows: &mut [f32], bias: &[f32]) {
    share(rows, bias.len(), |rows| add_bias_alone(rows, bias));
}

simd! {
/// x += y.
pub fn add(to: &'a mut [f32], numbers: &'a [f32]) {
    for (to, number) in to.iter_mut().zip(numbers) {
        *to += number;
    }
} }

simd! {
/// x += y + bias, row after row.
pub fn add_with_bias(to: &'a mut [f32], rows: &'a [f32], bias: &'a [f32]) {
    for (to, row) in to.chunks_exact_mut(bias.len()).zip(rows.chunks_exact(bias.len())) {
        for ((to, number), bias) in to.iter_mut().zip(row).zip(bias) {
            *to += number + bias;
        }
    }
} }

simd! {
/// Brings each row to a mean of zero and a variance of one, then times its weights plus its bias. A row has a multiple of
/// 16 numbers.
pub fn layer_norm(rows: &'a [f32], out: &'a mut [f32], weights: &'a [f32], bias: &'a [f32]) {
    let length = weights.len();
    for (row, out) in rows.chunks_exact(length).zip(out.chunks_exact_mut(length)) {
        let (chunks, _) = row.as_chunks::<LANES>();
        let mut lanes = [0.0f32; LANES];
        for chunk in chunks {
            for (lane, number) in lanes.iter_mut().zip(chunk) {
                *lane += number;
            }
        }
        let mean = lanes.iter().fold(0.0, |sum, lane| sum + lane) / length as f32;
        let mut lanes = [0.0f32; LANES];
        for chunk in chunks {
            for (lane, number) in lanes.iter_mut().zip(chunk) {
                let from_mean = number - mean;
                *lane = from_mean.mul_add(from_mean, *lane);
            }
        }
        let squares = lanes.iter().fold(0.0, |sum, lane| sum + lane);
        let scale = 1.0 / (squares / length as f32 + LEAST_VARIANCE).sqrt();
        for (((out, number), weight), bias) in out.iter_mut().zip(row).zip(weights).zip(bias) {
            *out = ((number - mean) * scale).mul_add(*weight, *bias);
        }
    }
} }

/// Shares rows of `length` out among the threads.
fn share(rows: &mut [f32], length: usize, work: impl Fn(&mut [f32]) + Sync + Send) {
    let threads = rayon::current_num_threads();
    if threads == 1 || rows.len() < SHARED_NUMBERS {
        return work(rows);
    }
    let numbers = (rows.len() / length).div_ceil(threads) * length;
    rows.par_chunks_mut(numbers).for_each(work);
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// Numbers between -1 and 1 that are the same each time.
    pub fn numbers(count: usize, seed: u32) -> Vec<f32> {
        let mut state = seed;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) as f32 / 8_388_608.0 - 1.0
        };
        (0..count).map(|_| next()).collect()
    }

    fn wide(numbers: &[f32]) -> Vec<f64> {
        numbers.iter().copied().map(f64::from).collect()
    }

    #[track_caller]
    fn near(found: &[f32], expected: &[f64], within: f64) {
        assert_eq!(found.len(), expected.len());
        for (n, (found, expected)) in found.iter().zip(expected).enumerate() {
            assert!((f64::from(*found) - expected).abs() < within, "{n}: {found} {expected}");
        }
    }

    #[test]
    fn every_16_bit_number_widens_as_half_says() {
        for bits in 0..=u16::MAX {
            let (own, other) = (widen(bits), half::f16::from_bits(bits).to_f32());
            assert!(own == other || !other.is_finite(), "{bits:#x}: {own} {other}");
            assert!(!other.is_finite() || narrow(&[other]) == [bits], "{bits:#x}");
        }
    }

    #[test]
    fn rows_of_weights_times_numbers_are_plain_sums() {
        // Enough weights that they are shared out, and a length that is no multiple of the lanes.
        for (rows, length) in [(3, 53), (7, 64), (401, 512)] {
            let weights = narrow(&numbers(rows * length, 2));
            let (inputs, bias) = (numbers(length, 3), numbers(rows, 4));
            let sum = |row: &[u16]| -> f64 {
                row.iter().zip(&inputs).map(|(w, x)| half::f16::from_bits(*w).to_f64() * f64::from(*x)).sum()
            };
            let sums: Vec<f64> = weights.chunks_exact(length).map(sum).collect();
            let mut out = vec![0.0; rows];
            matvec(&mut out, &weights, &inputs, None);
            near(&out, &sums, 1e-4);
            dots(&mut out, &weights, &inputs);
            near(&out, &sums, 1e-4);
            matvec(&mut out, &weights, &inputs, Some(&bias));
            let sums: Vec<f64> = sums.iter().zip(&bias).map(|(sum, bias)| sum + f64::from(*bias)).collect();
            near(&out, &sums, 1e-4);
        }
    }

    #[test]
    fn heads_are_weighed_as_plain_sums() {
        let rows = narrow(&numbers(5 * HEAD, 5));
        let weights = numbers(5, 6);
        let mut head = numbers(HEAD, 7);
        let mut expected = wide(&head);
        for (row, weight) in rows.chunks_exact(HEAD).zip(&weights) {
            for (sum, number) in expected.iter_mut().zip(row) {
                *sum += half::f16::from_bits(*number).to_f64() * f64::from(*weight);
            }
        }
        weigh(&mut head, &weights, &rows);
        near(&head, &expected, 1e-6);
    }

    #[test]
    fn powers_of_e_are_those_of_the_standard_library() {
        for n in -8_700..=8_700 {
            let x = n as f32 / 100.0;
            assert!((exp(x) / x.exp() - 1.0).abs() < 1e-5, "{x}: {} {}", exp(x), x.exp());
        }
        let rows = numbers(1_503, 3);
        let sum: f64 = wide(&rows).iter().map(|x| (x - 1.0).exp()).sum();
        assert!((f64::from(sum_exp(&rows, 1.0)) / sum - 1.0).abs() < 1e-5);
    }

    #[test]
    fn softmax_makes_each_row_shares_of_one() {
        let (length, scale) = (1_503, 0.125);
        let mut rows: Vec<f32> = numbers(2 * length, 3).iter().map(|x| x * 40.0).collect();
        let mut expected = Vec::new();
        for row in rows.chunks_exact(length) {
            let powers: Vec<f64> = wide(row).iter().map(|x| (x * f64::from(scale)).exp()).collect();
            let sum: f64 = powers.iter().sum();
            expected.extend(powers.iter().map(|power| power / sum));
        }
        softmax(&mut rows, length, scale);
        near(&rows, &expected, 1e-6);
    }

    #[test]
    fn layers_are_brought_to_mean_and_variance() {
        let length = 64;
        let rows: Vec<f32> = numbers(3 * length, 8).iter().map(|x| x * 3.0 + 5.0).collect();
        let (weights, bias) = (numbers(length, 9), numbers(length, 10));
        let mut expected = Vec::new();
        for row in rows.chunks_exact(length).map(wide) {
            let mean = row.iter().sum::<f64>() / length as f64;
            let variance = row.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / length as f64;
            for (n, x) in row.iter().enumerate() {
                let scaled = (x - mean) / (variance + 1e-5).sqrt();
                expected.push(scaled * f64::from(weights[n]) + f64::from(bias[n]));
            }
        }
        let mut out = vec![0.0; rows.len()];
        layer_norm(&rows, &mut out, &weights, &bias);
        near(&out, &expected, 1e-5);
    }

    #[test]
    fn gelu_is_its_formula() {
        let formula = |x: f64| {
            let u = (2.0 / std::f64::consts::PI).sqrt() * (x + 0.044_715 * x.powi(3));
            x / 2.0 * (1.0 + u.tanh())
        };
        let bias = numbers(100, 11);
        // Enough rows that they are shared out.
        let mut rows: Vec<f32> = (0..60_000).map(|n| n as f32 / 5_000.0 - 6.0).collect();
        let biased = |n: usize, x: &f32| f64::from(x + bias[n % 100]);
        let expected: Vec<f64> = rows.iter().enumerate().map(|(n, x)| formula(biased(n, x))).collect();
        let mut other = rows.clone();
        add_bias_gelu(&mut rows, &bias);
        near(&rows, &expected, 1e-5);
        add_bias(&mut other, &bias);
        gelu(&mut other);
        assert_eq!(rows, other);
    }

    #[test]
    fn what_is_added_is_added() {
        let (mut to, rows, bias) = (vec![1.0, 2.0, 3.0, 4.0], [0.5, 0.25, 0.125, 1.0], [10.0, 20.0]);
        add(&mut to, &rows);
        assert_eq!(to, [1.5, 2.25, 3.125, 5.0]);
        add_with_bias(&mut to, &rows, &bias);
        assert_eq!(to, [12.0, 22.5, 13.25, 26.0]);
    }
}
