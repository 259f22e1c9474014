//! A chain in its place: the one place where it becomes frames and bodies, and where those are held against the layout.

mod clearances;
mod closed;
mod crowding;
mod first_part;
pub(super) mod site;
mod sweep;
mod turn_round;

pub use clearances::{Clearances, clearances};
pub(super) use closed::{Closed, Laid, skeleton};
pub(super) use crowding::Obstacle;
pub(super) use first_part::{Core, Member as FirstMember};
pub(super) use site::{Built, Member, PROOF_MARGIN_MM, Site, line_of, overlaps_itself};
pub(super) use sweep::{Motion, Stretch, Sweep, arm};
pub(super) use turn_round::{is_backwards, marked_like, turn_chain, turn_round};
