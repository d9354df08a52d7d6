//! Products of matrices: `matrixmultiply` through `ndarray`, shared out among the threads of the pool that this runs in.

use ndarray::linalg::general_mat_mul;
use ndarray::{ArrayView2, ArrayViewMut2, ShapeBuilder};
use rayon::prelude::*;

/// Fewer rows than this are not worth sharing out.
const SHARED_ROWS: usize = 32;

/// Numbers as a matrix, without copying them.
#[derive(Clone, Copy)]
pub struct Matrix<'a> {
    data: &'a [f32],
    /// From the beginning of a row in memory to that of the next.
    stride: usize,
    turned: bool,
}

impl<'a> Matrix<'a> {
    /// The rows in memory are the rows.
    pub fn rows(data: &'a [f32], stride: usize) -> Self {
        Self { data, stride, turned: false }
    }

    /// The rows in memory are the columns.
    pub fn turned(data: &'a [f32], stride: usize) -> Self {
        Self { data, stride, turned: true }
    }

    fn view(self, rows: usize, columns: usize) -> ArrayView2<'a, f32> {
        let strides = if self.turned { (1, self.stride) } else { (self.stride, 1) };
        ArrayView2::from_shape((rows, columns).strides(strides), self.data)
            .expect("as many numbers as its shape has")
    }
}

/// Sizes of a product: `rows`×`depth` times `depth`×`columns`.
#[derive(Clone, Copy)]
pub struct Size {
    pub rows: usize,
    pub columns: usize,
    pub depth: usize,
}

/// Writes left · right into `out`, row after row. The left matrix is not a turned one.
pub fn multiply(out: &mut [f32], size: Size, left: Matrix, right: Matrix) {
    let threads = rayon::current_num_threads();
    if threads == 1 || size.rows < SHARED_ROWS {
        return multiply_alone(out, size, left, right);
    }
    let rows = size.rows.div_ceil(threads);
    let share = |(n, out): (usize, &mut [f32])| {
        let left = Matrix { data: &left.data[n * rows * left.stride..], ..left };
        multiply_alone(out, Size { rows: out.len() / size.columns, ..size }, left, right);
    };
    out[..size.rows * size.columns].par_chunks_mut(rows * size.columns).enumerate().for_each(share);
}

/// The same on this thread alone.
pub fn multiply_alone(out: &mut [f32], size: Size, left: Matrix, right: Matrix) {
    let left = left.view(size.rows, size.depth);
    let right = right.view(size.depth, size.columns);
    let out = &mut out[..size.rows * size.columns];
    let mut out = ArrayViewMut2::from_shape((size.rows, size.columns), out).expect("cut to its shape");
    general_mat_mul(1.0, &left, &right, 0.0, &mut out);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::tests::numbers;

    #[test]
    fn products_are_those_of_the_schoolbook() {
        let size = Size { rows: 37, columns: 29, depth: 53 };
        let (left, right) = (numbers(size.rows * size.depth, 1), numbers(size.columns * size.depth, 2));
        let mut out = vec![0.0; size.rows * size.columns];
        multiply(&mut out, size, Matrix::rows(&left, size.depth), Matrix::turned(&right, size.depth));
        for (row, left) in left.chunks_exact(size.depth).enumerate() {
            for (column, right) in right.chunks_exact(size.depth).enumerate() {
                let sum: f64 = left.iter().zip(right).map(|(l, r)| f64::from(*l) * f64::from(*r)).sum();
                assert!((f64::from(out[row * size.columns + column]) - sum).abs() < 1e-5);
            }
        }
    }
}
