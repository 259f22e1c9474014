//! Shows Elbowroom's layouts and chains in 3D: what fits, what touches, and how a chain goes together.
//!
//! It uses the solver's library as any other program would; the solver never knows of it. What fits, what touches and
//! how a chain is made up is the solver's; here it is only shown.

pub mod app;
pub mod args;
pub mod desk;
pub mod drag;
pub mod follow;
pub mod handles;
pub mod look;
pub mod modifiers;
pub mod output;
pub mod panels;
pub mod portrait;
pub mod rest;
pub mod scene;
pub mod shortcuts;
