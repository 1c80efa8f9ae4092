//! Some draws at a time, column by column: what is done to one input or state is done to all draws at once.

use super::model::{Draw, LimitState, Model};
use crate::quantity::Measure;

/// Draws worked out in one go: few enough that the inputs of a case stay near the processor.
pub(super) const BLOCK: usize = 256;

/// Draws of the inputs of a model: a column for each.
#[derive(Debug, Clone)]
pub(super) struct Draws<'c> {
    columns: Vec<&'c [f64]>,
    count: usize,
}

impl<'c> Draws<'c> {
    /// So many draws, a column for each input.
    pub fn of(columns: Vec<&'c [f64]>, count: usize) -> Draws<'c> {
        Draws { columns, count }
    }
    pub fn count(&self) -> usize {
        self.count
    }
    pub fn column(&self, place: usize) -> &'c [f64] {
        self.columns[place]
    }
    /// The same draws with another column in one place.
    pub fn with<'d>(&self, place: usize, column: &'d [f64]) -> Draws<'d>
    where
        'c: 'd,
    {
        let mut columns: Vec<&'d [f64]> = self.columns.clone();
        columns[place] = column;
        Draws { columns, count: self.count }
    }
    /// The draws of some of the inputs, in this order.
    pub fn picked(&self, places: &[usize]) -> Draws<'c> {
        Draws { columns: places.iter().map(|place| self.columns[*place]).collect(), count: self.count }
    }
    /// One of them.
    pub fn draw(&self, line: usize) -> Draw<'_> {
        Draw::of(&self.columns, line)
    }
    /// The load of a state in every draw.
    pub fn load(&self, state: &LimitState, into: &mut [f64]) {
        for (line, load) in into.iter_mut().enumerate() {
            *load = (state.load)(&self.draw(line)).si();
        }
    }
}

/// Values in as many columns as there are inputs or states, as long as there are draws.
#[derive(Debug, Clone, Default)]
pub(super) struct Block {
    values: Vec<f64>,
    columns: usize,
    count: usize,
}

impl Block {
    /// The same draw in every line.
    pub fn repeated(draw: &[f64], count: usize) -> Block {
        let values = draw.iter().flat_map(|value| std::iter::repeat_n(*value, count)).collect();
        Block { values, columns: draw.len(), count }
    }
    /// The medians of the inputs of a model, then two lines for each of these: that far above its median, and below. In the
    /// logarithm where its law lives there.
    pub fn around(model: &Model<'_>, steps: &[(usize, f64)]) -> Block {
        let middle = model.middle();
        let mut lines = Block::repeated(&middle, 1 + 2 * steps.len());
        for (at, (place, step)) in steps.iter().enumerate() {
            let (centre, law) = (middle[*place], &model.inputs[*place].law);
            let moved = |by: f64| if law.logarithmic() { centre * libm::exp(by) } else { centre + by };
            lines.column_mut(*place)[1 + 2 * at..][..2].copy_from_slice(&[moved(*step), moved(-*step)]);
        }
        lines
    }
    /// Takes another shape; what was in it is lost.
    pub fn reshape(&mut self, columns: usize, count: usize) {
        (self.columns, self.count) = (columns, count);
        self.values.resize(columns * count, 0.0);
    }
    /// Takes the shape and the values of another.
    pub fn copy(&mut self, other: &Block) {
        self.reshape(other.columns, other.count);
        self.values.copy_from_slice(&other.values);
    }
    /// Takes another column behind the others.
    pub fn append(&mut self, column: &[f64]) {
        self.values.extend_from_slice(column);
        self.columns += 1;
    }
    pub fn values(&self) -> &[f64] {
        &self.values
    }
    pub fn values_mut(&mut self) -> &mut [f64] {
        &mut self.values
    }
    pub fn column(&self, place: usize) -> &[f64] {
        &self.values[place * self.count..][..self.count]
    }
    pub fn column_mut(&mut self, place: usize) -> &mut [f64] {
        &mut self.values[place * self.count..][..self.count]
    }
    /// The columns in order.
    pub fn each(&self) -> impl Iterator<Item = &[f64]> {
        self.values.chunks_exact(self.count.max(1)).take(self.columns)
    }
    pub fn each_mut(&mut self) -> impl Iterator<Item = &mut [f64]> {
        self.values.chunks_exact_mut(self.count.max(1)).take(self.columns)
    }
    /// As draws of inputs.
    pub fn draws(&self) -> Draws<'_> {
        Draws::of(self.each().collect(), self.count)
    }
    /// The least of each line and the column it stands in.
    pub fn least(&self) -> (Vec<f64>, Vec<usize>) {
        let mut least = vec![f64::INFINITY; self.count];
        let mut places = vec![0; self.count];
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
        let mut block = Block::default();
        block.reshape(2, 3);
        block.column_mut(0).copy_from_slice(&[1.0, 5.0, f64::INFINITY]);
        block.column_mut(1).copy_from_slice(&[2.0, 4.0, f64::INFINITY]);
        let draws = block.draws();
        assert_eq!((draws.draw(1).value(0), draws.draw(1).value(1)), (5.0, 4.0));
        assert_eq!(draws.picked(&[1]).draw(0).value(0), 2.0);
        let other = draws.with(0, &[7.0, 8.0, 9.0]);
        assert_eq!((other.draw(2).value(0), other.column(1), draws.draw(0).value(0)), (9.0, block.column(1), 1.0));
        assert_eq!(block.least(), (vec![1.0, 4.0, f64::INFINITY], vec![0, 1, 0]));
        assert_eq!(Block::repeated(&[7.0, 8.0], 2).values(), [7.0, 7.0, 8.0, 8.0]);
        assert_eq!(Block::default().each().count(), 0);
    }
}
