//! Finds the fittings that join two tightly spaced ports, shows that they fit, and proves it when nothing fits.

pub mod bridge;
pub mod catalog;
pub mod circuit;
pub mod geometry;
pub mod hydraulics;
pub mod interference;
pub mod layout;
pub mod report;
pub mod source;
