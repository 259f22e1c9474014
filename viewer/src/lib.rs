//! The place of the viewer. There is none yet: this crate is empty, and no command starts it.
//!
//! It will use the solver's library as any other program would; the solver will never know of it.
