//! How a page looks where it is read.

/// How wide text may be and whether it is coloured.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Columns.
    pub width: usize,
    /// Colour is never the only signal.
    pub colour: bool,
}
