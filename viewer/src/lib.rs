//! Shows Elbowroom's layouts and chains in 3D: what fits, what touches, and how a chain goes together.
//!
//! It uses the solver's library as any other program would; the solver never knows of it.

pub mod desk;
pub mod panels;
