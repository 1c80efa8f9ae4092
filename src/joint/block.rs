//! Some draws at a time, column by column: what is done to one input or state is done to all draws of the block at once.

use super::model::{Draw, LimitState};
use crate::quantity::Measure;

/// Draws in a block: few enough that the inputs of a case stay near the processor.
pub(super) const BLOCK: usize = 256;

/// A column for each input of a model, or for each of its states; a line for each draw.
#[derive(Debug, Clone, Default)]
pub(super) struct Block {
    values: Vec<f64>,
    columns: usize,
    draws: usize,
}

impl Block {
    /// So many columns of so many draws.
    pub fn new(columns: usize, draws: usize) -> Block {
        Block { values: vec![0.0; columns * draws], columns, draws }
    }
    /// The same draw in every line.
    pub fn repeated(draw: &[f64], draws: usize) -> Block {
        let values = draw.iter().flat_map(|value| std::iter::repeat_n(*value, draws)).collect();
        Block { values, columns: draw.len(), draws }
    }
    /// Takes another shape; what was in it is lost.
    pub fn reshape(&mut self, columns: usize, draws: usize) {
        (self.columns, self.draws) = (columns, draws);
        self.values.resize(columns * draws, 0.0);
    }
    /// Takes the shape and the values of another.
    pub fn copy(&mut self, other: &Block) {
        self.reshape(other.columns, other.draws);
        self.values.copy_from_slice(&other.values);
    }
    /// Takes another column behind the others.
    pub fn append(&mut self, column: &[f64]) {
        self.values.extend_from_slice(column);
        self.columns += 1;
    }
    pub fn draws(&self) -> usize {
        self.draws
    }
    pub fn values(&self) -> &[f64] {
        &self.values
    }
    pub fn values_mut(&mut self) -> &mut [f64] {
        &mut self.values
    }
    pub fn column(&self, place: usize) -> &[f64] {
        &self.values[place * self.draws..][..self.draws]
    }
    pub fn column_mut(&mut self, place: usize) -> &mut [f64] {
        &mut self.values[place * self.draws..][..self.draws]
    }
    /// The columns in order.
    pub fn each(&self) -> impl Iterator<Item = &[f64]> {
        self.values.chunks_exact(self.draws.max(1)).take(self.columns)
    }
    pub fn each_mut(&mut self) -> impl Iterator<Item = &mut [f64]> {
        self.values.chunks_exact_mut(self.draws.max(1)).take(self.columns)
    }
    /// One line of it.
    pub fn draw(&self, line: usize) -> Draw<'_> {
        Draw::of_block(&self.values, self.draws, line)
    }
    /// The load of a state in every draw of the inputs this block holds.
    pub fn load(&self, state: &LimitState, into: &mut [f64]) {
        for (line, load) in into.iter_mut().enumerate() {
            *load = (state.load)(&self.draw(line)).si();
        }
    }
    /// The least of each line and the column it stands in.
    pub fn least(&self) -> (Vec<f64>, Vec<usize>) {
        let mut least = vec![f64::INFINITY; self.draws];
        let mut places = vec![0; self.draws];
        for (place, column) in self.each().enumerate() {
            for ((least, at), value) in least.iter_mut().zip(&mut places).zip(column) {
                if value < least {
                    (*least, *at) = (*value, place);
                }
            }
        }
        (least, places)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_a_draw_and_the_least_of_a_line_is_told_with_its_column() {
        let mut block = Block::new(2, 3);
        block.column_mut(0).copy_from_slice(&[1.0, 5.0, f64::INFINITY]);
        block.column_mut(1).copy_from_slice(&[2.0, 4.0, f64::INFINITY]);
        assert_eq!((block.draw(1).value(0), block.draw(1).value(1)), (5.0, 4.0));
        assert_eq!(block.least(), (vec![1.0, 4.0, f64::INFINITY], vec![0, 1, 0]));
        assert_eq!(Block::repeated(&[7.0, 8.0], 2).values(), [7.0, 7.0, 8.0, 8.0]);
        assert_eq!(Block::new(0, 3).each().count() + Block::new(2, 0).each().count(), 0);
    }
}
