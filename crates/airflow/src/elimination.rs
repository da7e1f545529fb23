//! Elimination of the symmetric system `J x = b` of a network of conductances.
//!
//! The matrix is never formed. It is kept as what it is, a set of positive conductances between
//! nodes and from nodes to fixed pressures ("ground"). Eliminating a node replaces the star of its
//! conductances by the mesh between its neighbours, `g_ij += g_ki g_kj / Σ g_k`, which only adds
//! and multiplies positive numbers. So no digits cancel, whatever the spread of the conductances:
//! every result is accurate to rounding (the idea of Grassmann, Taksar and Heyman for Markov
//! chains), and no pivot can vanish.
//!
//! The order (fewest neighbours first) and all positions are found once. Nodes with few neighbours,
//! such as those along a chain of ducts, are eliminated one conductance at a time; the rest, well
//! meshed, as a dense block, row by row.

use crate::lanes::lanes;

/// Position of a conductance or right-hand side in the value array.
pub(crate) type Slot = u32;

/// Order and positions for one topology.
#[derive(Debug, Clone)]
pub(crate) struct Elimination {
    /// Number of unknowns.
    size: usize,
    /// Elimination position of each unknown.
    position: Vec<usize>,
    /// Nodes eliminated one conductance at a time.
    stars: Vec<Star>,
    /// Neighbours (positions) of all stars, one after the other.
    neighbours: Vec<u32>,
    /// Where the mesh of each star is added, in the order in which it is computed.
    mesh: Vec<Slot>,
    dense: Dense,
    /// Slot of the right-hand side of each position.
    right_side: Vec<Slot>,
    /// Slot of the conductance to ground of each position.
    ground: Vec<Slot>,
    /// Slots between positions, `(smaller, larger, slot)`, sorted.
    between: Vec<(u32, u32, Slot)>,
    values: usize,
}

/// A node eliminated by its conductances. Its values are the conductances to its neighbours, to
/// ground, and the right-hand side.
#[derive(Debug, Clone, Copy)]
struct Star {
    first_value: u32,
    first_neighbour: u32,
    first_mesh: u32,
    degree: u32,
}

/// The last nodes, each joined with each. Row i holds the conductances to nodes 1…n−1 of the block
/// (those above the diagonal), to ground, and the right-hand side.
#[derive(Debug, Clone, Copy)]
struct Dense {
    first_value: usize,
    size: usize,
    /// Length of a row, a multiple of 4.
    stride: usize,
}

/// Rows are handled in blocks of this many numbers.
const BLOCK: usize = 4;

impl Elimination {
    /// Prepares the elimination of `size` unknowns joined by `edges`. With `dense` false all
    /// nodes are eliminated by their conductances.
    pub fn new(size: usize, edges: &[(usize, usize)], dense: bool) -> Self {
        let mut joined = vec![vec![false; size]; size];
        for &(a, b) in edges {
            joined[a][b] = true;
            joined[b][a] = true;
        }
        // Minimum degree, on the graph that fills up while nodes leave it.
        let mut left: Vec<usize> = (0..size).collect();
        let mut order = Vec::with_capacity(size);
        let mut adjacency: Vec<Vec<usize>> = Vec::new();
        while !left.is_empty() {
            let degree = |node: usize| left.iter().filter(|&&other| joined[node][other]).count();
            let (&node, degree) = left
                .iter()
                .map(|node| (node, degree(*node)))
                .min_by_key(|&(node, degree)| (degree, *node))
                .expect("not empty");
            if dense && degree > 2 && 2 * degree > left.len() {
                break;
            }
            left.retain(|&other| other != node);
            let neighbours: Vec<usize> = left
                .iter()
                .copied()
                .filter(|&other| joined[node][other])
                .collect();
            for &a in &neighbours {
                for &b in &neighbours {
                    joined[a][b] = a != b;
                }
            }
            order.push(node);
            adjacency.push(neighbours);
        }
        let star_count = order.len();
        order.extend(&left);
        let mut position = vec![0; size];
        for (at, &node) in order.iter().enumerate() {
            position[node] = at;
        }
        // Values: stars first, then the dense block.
        let mut right_side = vec![0; size];
        let mut ground = vec![0; size];
        let mut between = Vec::new();
        let mut values = 0u32;
        let mut stars = Vec::new();
        let mut neighbours = Vec::new();
        for (at, others) in adjacency.iter().enumerate() {
            let mut others: Vec<usize> = others.iter().map(|&node| position[node]).collect();
            others.sort_unstable();
            stars.push(Star {
                first_value: values,
                first_neighbour: neighbours.len() as u32,
                first_mesh: 0,
                degree: others.len() as u32,
            });
            for other in others {
                between.push((at as u32, other as u32, values));
                neighbours.push(other as u32);
                values += 1;
            }
            ground[at] = values;
            right_side[at] = values + 1;
            values += 2;
        }
        let count = size - star_count;
        let first_value = values as usize;
        let stride = if count == 0 {
            0
        } else {
            (count + 1).next_multiple_of(BLOCK)
        };
        for row in 0..count {
            let start = (first_value + row * stride) as u32;
            for column in row + 1..count {
                let slot = start + column as u32 - 1;
                between.push((
                    (star_count + row) as u32,
                    (star_count + column) as u32,
                    slot,
                ));
            }
            ground[star_count + row] = start + count as u32 - 1;
            right_side[star_count + row] = start + count as u32;
        }
        let values = first_value + count * stride;
        between.sort_unstable();
        let mut elimination = Self {
            size,
            position,
            stars,
            neighbours,
            mesh: Vec::new(),
            dense: Dense {
                first_value,
                size: count,
                stride,
            },
            right_side,
            ground,
            between,
            values,
        };
        elimination.lay_mesh();
        elimination
    }

    fn lay_mesh(&mut self) {
        for at in 0..self.stars.len() {
            self.stars[at].first_mesh = self.mesh.len() as u32;
            let star = self.stars[at];
            let first = star.first_neighbour as usize;
            for i in first..first + star.degree as usize {
                let a = self.neighbours[i] as usize;
                for j in i + 1..first + star.degree as usize {
                    let slot = self.between(a, self.neighbours[j] as usize);
                    self.mesh.push(slot);
                }
                self.mesh.push(self.ground[a]);
                self.mesh.push(self.right_side[a]);
            }
        }
    }

    /// Number of values to keep: conductances and right-hand sides.
    pub fn value_count(&self) -> usize {
        self.values
    }

    /// Number of unknowns.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Elimination position of an unknown.
    pub fn position(&self, unknown: usize) -> usize {
        self.position[unknown]
    }

    /// Slot of the conductance from a position to ground.
    pub fn ground(&self, position: usize) -> Slot {
        self.ground[position]
    }

    /// Slot of the right-hand side of a position.
    pub fn right_side(&self, position: usize) -> Slot {
        self.right_side[position]
    }

    /// Slot of the conductance between two positions that an edge joins.
    pub fn between(&self, a: usize, b: usize) -> Slot {
        let key = (a.min(b) as u32, a.max(b) as u32);
        let at = self
            .between
            .binary_search_by_key(&key, |&(a, b, _)| (a, b))
            .expect("joined by an edge or by fill");
        self.between[at].2
    }

    /// Room for the factors of L systems.
    pub fn factors<const L: usize>(&self) -> Factors<L> {
        Factors {
            inverses: vec![[0.0; L]; self.size],
            columns: vec![0.0; self.dense.size * self.dense.stride],
        }
    }

    /// Eliminates all nodes and writes the solution to `x` by position. Replaces the values by
    /// what [`resolve`](Self::resolve) needs, together with the factors, to solve again.
    ///
    /// A dense block is possible in a single system only.
    #[inline(always)]
    pub fn solve<const L: usize>(
        &self,
        values: &mut [[f64; L]],
        factors: &mut Factors<L>,
        x: &mut [[f64; L]],
    ) {
        for (star, inverse) in self.stars.iter().zip(&mut factors.inverses) {
            let start = star.first_value as usize;
            let degree = star.degree as usize;
            // A star writes only to later nodes.
            let base = start + degree + 2;
            let (own, later) = values.split_at_mut(base);
            let own = &mut own[start..];
            let mut sum = own[degree];
            for value in &own[..degree] {
                sum = lanes!(lane => sum[lane] + value[lane]);
            }
            *inverse = lanes!(lane => 1.0 / sum[lane]);
            let mut mesh = self.mesh[star.first_mesh as usize..].iter();
            for i in 0..degree {
                let share = lanes!(lane => own[i][lane] * inverse[lane]);
                for (value, &slot) in own[i + 1..].iter().zip(&mut mesh) {
                    let target = &mut later[slot as usize - base];
                    *target = lanes!(lane => target[lane] + share[lane] * value[lane]);
                }
                own[i] = share;
            }
        }
        if self.dense.size > 0 {
            debug_assert_eq!(L, 1);
            let rows = values[self.dense.first_value..].as_flattened_mut();
            let inverses = factors.inverses[self.stars.len()..].as_flattened_mut();
            self.solve_dense(rows, inverses, &mut factors.columns);
        }
        for (x, &slot) in x.iter_mut().zip(&self.right_side) {
            *x = values[slot as usize];
        }
        self.substitute(values, factors, x);
    }

    /// Solves for another right-hand side, given in `x` by position and replaced by the solution,
    /// with the values and factors that [`solve`](Self::solve) left.
    #[inline(always)]
    pub fn resolve<const L: usize>(
        &self,
        values: &[[f64; L]],
        factors: &Factors<L>,
        x: &mut [[f64; L]],
    ) {
        for (at, star) in self.stars.iter().enumerate() {
            let value = x[at];
            for (share, other) in self.shares(star, values) {
                let target = &mut x[other];
                *target = lanes!(lane => target[lane] + share[lane] * value[lane]);
            }
        }
        let first = self.stars.len();
        for row in 1..self.dense.size {
            let (before, here) = x[first..].as_flattened_mut().split_at_mut(row);
            let shares = &factors.columns[row * self.dense.stride..];
            here[0] += before
                .iter()
                .zip(shares)
                .map(|(x, share)| x * share)
                .sum::<f64>();
        }
        self.substitute(values, factors, x);
    }

    /// The shares in which an eliminated star handed its right-hand side to its neighbours.
    #[inline(always)]
    fn shares<'a, const L: usize>(
        &'a self,
        star: &Star,
        values: &'a [[f64; L]],
    ) -> impl Iterator<Item = (&'a [f64; L], usize)> + 'a {
        let degree = star.degree as usize;
        let shares = &values[star.first_value as usize..][..degree];
        let neighbours = &self.neighbours[star.first_neighbour as usize..][..degree];
        shares
            .iter()
            .zip(neighbours.iter().map(|&other| other as usize))
    }

    #[inline(always)]
    fn solve_dense(&self, rows: &mut [f64], inverses: &mut [f64], columns: &mut [f64]) {
        let Dense { size, stride, .. } = self.dense;
        for k in 0..size {
            let (done, below) = rows.split_at_mut((k + 1) * stride);
            let row = &done[k * stride..];
            let sum: f64 = row[k..size].iter().sum();
            let inverse = 1.0 / sum;
            inverses[k] = inverse;
            for (i, target) in (k + 1..size).zip(below.chunks_exact_mut(stride)) {
                let share = row[i - 1] * inverse;
                columns[i * stride + k] = share;
                let from = i / BLOCK * BLOCK;
                let target = target[from..].chunks_exact_mut(BLOCK);
                for (target, value) in target.zip(row[from..].chunks_exact(BLOCK)) {
                    for lane in 0..BLOCK {
                        target[lane] += share * value[lane];
                    }
                }
            }
        }
    }

    /// Back substitution: every node from its right-hand side, in `x`, and the nodes after it.
    #[inline(always)]
    fn substitute<const L: usize>(
        &self,
        values: &[[f64; L]],
        factors: &Factors<L>,
        x: &mut [[f64; L]],
    ) {
        for (x, inverse) in x.iter_mut().zip(&factors.inverses) {
            *x = lanes!(lane => x[lane] * inverse[lane]);
        }
        let first = self.stars.len();
        let block = x[first..first + self.dense.size].as_flattened_mut();
        for k in (1..self.dense.size).rev() {
            let (before, here) = block.split_at_mut(k);
            let value = here[0];
            let shares = &factors.columns[k * self.dense.stride..];
            for (x, share) in before.iter_mut().zip(shares) {
                *x += share * value;
            }
        }
        for (at, star) in self.stars.iter().enumerate().rev() {
            let mut sum = x[at];
            for (share, other) in self.shares(star, values) {
                let value = &x[other];
                sum = lanes!(lane => sum[lane] + share[lane] * value[lane]);
            }
            x[at] = sum;
        }
    }
}

/// What an elimination leaves besides its values.
#[derive(Debug, Clone)]
pub(crate) struct Factors<const L: usize> {
    /// One over the sum of the conductances of each position when it was eliminated.
    inverses: Vec<[f64; L]>,
    /// Shares of the dense block, by the receiving row.
    columns: Vec<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Solves a network of conductances and returns the largest imbalance relative to the flow
    /// through its node, of the solution and of a second right-hand side.
    fn imbalance(size: usize, edges: &[(usize, usize, f64)], ground: &[f64], dense: bool) -> f64 {
        let pairs: Vec<_> = edges.iter().map(|&(a, b, _)| (a, b)).collect();
        let elimination = Elimination::new(size, &pairs, dense);
        let at = |node| elimination.position(node);
        let mut values = vec![[0.0]; elimination.value_count()];
        for &(a, b, conductance) in edges {
            values[elimination.between(at(a), at(b)) as usize][0] += conductance;
        }
        let first: Vec<f64> = (0..size).map(|node| (node as f64 + 1.0).sin()).collect();
        let second: Vec<f64> = (0..size).map(|node| (node as f64).cos()).collect();
        let mut x = vec![[0.0]; size];
        for node in 0..size {
            values[elimination.ground(at(node)) as usize][0] += ground[node];
            values[elimination.right_side(at(node)) as usize][0] = first[node];
            x[at(node)][0] = second[node];
        }
        let mut factors = elimination.factors();
        let mut y = vec![[0.0]; size];
        elimination.solve(&mut values, &mut factors, &mut y);
        elimination.resolve(&values, &factors, &mut x);
        let mut worst: f64 = 0.0;
        for (solution, right_side) in [(&y, &first), (&x, &second)] {
            for node in 0..size {
                let mut sum = right_side[node] - ground[node] * solution[at(node)][0];
                let mut through = right_side[node].abs();
                for &(a, b, conductance) in edges {
                    if a == node || b == node {
                        let flow = conductance * (solution[at(a)][0] - solution[at(b)][0]);
                        sum -= if a == node { flow } else { -flow };
                        through += conductance * solution[at(node)][0].abs();
                    }
                }
                worst = worst.max(sum.abs() / through);
            }
        }
        worst
    }

    #[test]
    fn solves_chains_and_meshes() {
        for size in 1..24 {
            let mut edges: Vec<_> = (1..size)
                .map(|node| (node - 1, node, 1.0 + node as f64))
                .collect();
            let mut ground = vec![0.0; size];
            ground[0] = 0.5;
            assert!(
                imbalance(size, &edges, &ground, true) < 1e-13,
                "chain of {size}"
            );
            for a in 0..size {
                for b in a + 2..size {
                    if (a * 7 + b * 3) % 4 != 0 {
                        edges.push((a, b, 1e-3 + (a + b) as f64));
                    }
                }
            }
            for dense in [false, true] {
                assert!(
                    imbalance(size, &edges, &ground, dense) < 1e-13,
                    "mesh of {size}"
                );
            }
        }
    }

    /// Two nodes joined 1e20 times better than they are to ground: subtracting loses all digits.
    #[test]
    fn keeps_all_digits_at_any_spread() {
        let elimination = Elimination::new(2, &[(0, 1)], true);
        let mut values = vec![[0.0]; elimination.value_count()];
        values[elimination.between(0, 1) as usize][0] = 1e10;
        for position in 0..2 {
            values[elimination.ground(position) as usize][0] = 1e-10;
            values[elimination.right_side(position) as usize][0] = 1e-10;
        }
        let mut factors = elimination.factors();
        let mut x = [[0.0]; 2];
        elimination.solve(&mut values, &mut factors, &mut x);
        assert!(x.iter().all(|x| (x[0] - 1.0).abs() < 1e-14), "{x:?}");
    }
}
