//! Answers as pictures.

mod flow_plot;

pub use flow_plot::FlowPlot;
