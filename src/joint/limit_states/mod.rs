//! Limit states that several methods share.

pub mod bond;
pub mod brittle;
pub mod cure;
pub mod diameters;
pub mod insert;
pub mod metal;
pub mod nut;
pub mod residual;
pub mod thread;
pub mod torque;
