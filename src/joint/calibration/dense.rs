//! Cholesky factor of a small dense matrix, rows in one list; always in the same order, so the same bits everywhere.

/// A lower triangle L with L Lᵀ = A.
#[derive(Debug, Clone, Default)]
pub struct Lower {
    n: usize,
    at: Vec<f64>,
}

impl Lower {
    /// Factor of a symmetric matrix that is the identity plus a covariance: every pivot is at least one.
    pub fn of(mut a: Vec<f64>, n: usize) -> Lower {
        for i in 0..n {
            for j in 0..=i {
                let (row_i, row_j) = (&a[i * n..i * n + j], &a[j * n..j * n + j]);
                let rest = a[i * n + j] - row_i.iter().zip(row_j).map(|(x, y)| x * y).sum::<f64>();
                a[i * n + j] = if i == j { libm::sqrt(rest.max(1.0)) } else { rest / a[j * n + j] };
            }
        }
        Lower { n, at: a }
    }
    /// Solves L x = b in place.
    pub fn forward(&self, b: &mut [f64]) {
        for i in 0..self.n {
            let row = &self.at[i * self.n..i * self.n + i];
            let sum: f64 = row.iter().zip(&*b).map(|(l, x)| l * x).sum();
            b[i] = (b[i] - sum) / self.at[i * self.n + i];
        }
    }
    /// Solves Lᵀ x = b in place.
    pub fn backward(&self, b: &mut [f64]) {
        for i in (0..self.n).rev() {
            b[i] /= self.at[i * self.n + i];
            let x = b[i];
            let row = &self.at[i * self.n..i * self.n + i];
            row.iter().zip(b.iter_mut()).for_each(|(l, b)| *b -= l * x);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_solves_a_system_worked_by_hand() {
        // Hand: A = [[4, 2], [2, 5]] has L = [[2, 0], [1, 2]]; A x = (8, 12) has x = (1, 2).
        let lower = Lower::of(vec![4.0, 2.0, 2.0, 5.0], 2);
        let mut b = vec![8.0, 12.0];
        lower.forward(&mut b);
        assert_eq!(b, [4.0, 4.0]);
        lower.backward(&mut b);
        assert_eq!(b, [1.0, 2.0]);
    }
}
