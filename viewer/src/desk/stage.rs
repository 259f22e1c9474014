//! Where everything of a chain stands at one moment.

use nalgebra::Isometry3;

/// One moment: of the making up of a chain, or of the chain as it stands when all is done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stage {
    /// The parts of the chain, in the order of the chain.
    pub parts: Vec<Staged>,
    /// Components that are held back, by the number of their body in the layout.
    pub held: Vec<Held>,
    /// What is being done, in words.
    pub caption: String,
}

/// A part of the chain at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Staged {
    /// Which part, counted from 0.
    pub part: usize,
    /// Pose of the fitting's frame in world millimetres.
    pub pose: Isometry3<f64>,
    /// Whether it is there yet.
    pub shown: bool,
    /// How far an adjustable part is drawn out, in millimetres.
    pub stretch_mm: f64,
    /// Turn of the collar at end 0 and at end 1 about that end's own axis out of the fitting, in radians; 0 when all
    /// is tight.
    pub collar_rad: [f64; 2],
}

/// A component that is not in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Place of the component in the layout's list of bodies.
    pub body: usize,
    /// The world motion that takes it from its place to where it is held.
    pub by: Isometry3<f64>,
}

impl Stage {
    /// The chain as it stands when all is done; empty without a chain.
    #[must_use]
    pub fn home(chain: Option<&elbowroom::bridge::Chain>) -> Self {
        let parts = chain.map_or(&[][..], |chain| &chain.parts);
        let parts = parts.iter().enumerate().map(|(index, part)| Staged {
            part: index,
            pose: part.pose,
            shown: true,
            stretch_mm: part.stretch_mm,
            collar_rad: [0.0; 2],
        });
        Self { parts: parts.collect(), held: Vec::new(), caption: String::new() }
    }
}
