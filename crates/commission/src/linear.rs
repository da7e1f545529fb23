//! Small dense symmetric systems.

/// Square matrix by rows.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Square {
    pub size: usize,
    pub values: Vec<f64>,
}

impl Square {
    pub fn zero(size: usize) -> Self {
        Self {
            size,
            values: vec![0.0; size * size],
        }
    }

    pub fn identity(size: usize) -> Self {
        Self::diagonal(std::iter::repeat_n(1.0, size))
    }

    pub fn diagonal(entries: impl ExactSizeIterator<Item = f64>) -> Self {
        let mut square = Self::zero(entries.len());
        for (i, entry) in entries.enumerate() {
            square.values[i * square.size + i] = entry;
        }
        square
    }

    pub fn at(&self, row: usize, column: usize) -> f64 {
        self.values[row * self.size + column]
    }

    /// Adds `weight · v vᵀ`.
    pub fn add_outer(&mut self, v: &[f64], weight: f64) {
        for (row, &a) in self.values.chunks_exact_mut(self.size).zip(v) {
            if a != 0.0 {
                for (value, &b) in row.iter_mut().zip(v) {
                    *value += weight * a * b;
                }
            }
        }
    }

    /// `M v`.
    pub fn times(&self, v: &[f64]) -> Vec<f64> {
        self.values
            .chunks_exact(self.size.max(1))
            .map(|row| dot(row, v))
            .collect()
    }

    /// `vᵀ M v`.
    pub fn form(&self, v: &[f64]) -> f64 {
        dot(&self.times(v), v)
    }

    /// Lower triangle L with `L Lᵀ = M`; pivots below rounding count as zero.
    pub fn cholesky(&self) -> Self {
        let n = self.size;
        let mut lower = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let rest = self.at(i, j) - dot(&lower[i * n..i * n + j], &lower[j * n..j * n + j]);
                lower[i * n + j] = if i == j {
                    rest.max(0.0).sqrt()
                } else if lower[j * n + j] > 1e-150 {
                    rest / lower[j * n + j]
                } else {
                    0.0
                };
            }
        }
        Self {
            size: n,
            values: lower,
        }
    }

    /// The first rows and columns.
    pub fn leading(&self, size: usize) -> Self {
        let rows = self.values.chunks_exact(self.size.max(1)).take(size);
        Self {
            size,
            values: rows.flat_map(|row| &row[..size]).copied().collect(),
        }
    }

    /// Inverse of a positive definite matrix.
    pub fn inverse(&self) -> Self {
        let n = self.size;
        let lower = self.cholesky();
        // Columns of L⁻¹ one by one, then L⁻ᵀ L⁻¹.
        let mut inverse_lower = vec![0.0; n * n];
        for column in 0..n {
            for row in column..n {
                let mut sum = if row == column { 1.0 } else { 0.0 };
                for k in column..row {
                    sum -= lower.at(row, k) * inverse_lower[k * n + column];
                }
                inverse_lower[row * n + column] = sum / lower.at(row, row);
            }
        }
        let mut values = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let sum: f64 = (i..n)
                    .map(|k| inverse_lower[k * n + i] * inverse_lower[k * n + j])
                    .sum();
                values[i * n + j] = sum;
                values[j * n + i] = sum;
            }
        }
        Self { size: n, values }
    }
}

/// `aᵀ b` as far as both go, summed in several places at once: a single sum would wait for itself.
#[inline]
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    const PLACES: usize = 8;
    let length = a.len().min(b.len());
    let (a, b) = (&a[..length], &b[..length]);
    let (a, a_rest) = a.as_chunks::<PLACES>();
    let (b, b_rest) = b.as_chunks::<PLACES>();
    let mut sums = [0.0; PLACES];
    for (a, b) in a.iter().zip(b) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_inverse_of_what_an_estimate_builds_undoes_it(
            rows in prop::collection::vec(prop::collection::vec(-30.0..30.0f64, 6), 0..9),
        ) {
            let mut matrix = Square::identity(6);
            for row in &rows {
                matrix.add_outer(row, 1.0);
            }
            let inverse = matrix.inverse();
            for i in 0..6 {
                let mut unit = [0.0; 6];
                unit[i] = 1.0;
                let back = matrix.times(&inverse.times(&unit));
                for (j, value) in back.iter().enumerate() {
                    let expected = f64::from(u8::from(i == j));
                    prop_assert!((value - expected).abs() < 1e-6, "{value}");
                }
            }
            let lower = matrix.cholesky();
            for i in 0..6 {
                for j in 0..6 {
                    let product: f64 = (0..6).map(|k| lower.at(i, k) * lower.at(j, k)).sum();
                    prop_assert!((product - matrix.at(i, j)).abs() < 1e-8);
                }
            }
        }
    }
}
