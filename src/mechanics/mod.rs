//! What should hold, by formula?
//!
//! Plain typed functions: quantities in, one quantity out, no state. Every function that a user may call stands on a
//! card (see [`formula`]) with its words, range, source and worked example; [`book`] lists them and [`call`] calls
//! them by text. The joint engine calls the functions themselves.
//!
//! Not here: which value a material has, what spread it has, which failure comes first.

pub mod bond;
pub mod book;
pub mod bursting;
pub mod call;
pub mod fit;
pub mod formula;
pub mod fracture;
pub mod light;
pub mod pin;
pub mod screw;
pub mod shear_lag;
pub mod stripping;
pub mod thread;
pub mod torque;
pub mod wetting;

#[cfg(test)]
mod tests;
