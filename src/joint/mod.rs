//! Will it hold, and with what hole?
//!
//! A need (material, thread, length, load, use) is asked of every method: does it apply, which shape has it, which limit
//! states compete. Inputs are drawn, the weakest state of each draw is the capacity, measured series move the bias of each
//! limit state, and the methods are ranked on the same draws of the material.
//!
//! Not here: which methods there are (they plug in), how an answer looks, where records come from.

pub mod assumption;
mod beside;
mod block;
pub mod bonds;
pub mod calibration;
pub mod correct;
pub mod distribution;
pub mod evaluate;
pub mod fact;
pub mod gap;
pub mod geometry;
pub mod glue;
pub mod hazard;
pub mod heat;
pub mod held;
pub mod hole;
pub mod hole_shape;
pub mod judge;
pub mod limit_states;
pub mod measured;
pub mod method;
pub mod methods;
pub mod mode;
pub mod model;
pub mod need;
pub mod nut;
pub mod part;
pub mod recorded;
pub mod rules;
mod side_by_side;
mod told;
pub mod trace;

pub use assumption::Assumptions;
pub use distribution::Law;
pub use geometry::Geometry;
pub use mode::Mode;
pub use model::{Draw, Lack, Model, Var};
pub use need::Need;
