//! How fast coolant may flow past a wall.

use std::fmt;

/// What the wall of a bore is made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Wall {
    /// Copper.
    Copper,
    /// Brass, plated or not.
    #[default]
    Brass,
    /// Aluminium.
    Aluminium,
    /// Stainless steel.
    Stainless,
    /// Acrylic, acetal and other plastics, and rubber hose.
    Plastic,
}

impl Wall {
    /// Velocity in m/s that is commonly not exceeded for long, because the metal erodes at turns or the flow becomes
    /// audible.
    ///
    /// Common practice of building services for water without air or grit, from memory: copper 1.5 (warm, continuous
    /// flow), brass 2.0, aluminium 1.5, stainless steel 3.0, plastics 2.5. A flag, not a verdict.
    #[must_use]
    pub fn common_limit_m_s(self) -> f64 {
        match self {
            Self::Copper | Self::Aluminium => 1.5,
            Self::Brass => 2.0,
            Self::Plastic => 2.5,
            Self::Stainless => 3.0,
        }
    }
}

impl fmt::Display for Wall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Copper => "copper",
            Self::Brass => "brass",
            Self::Aluminium => "aluminium",
            Self::Stainless => "stainless steel",
            Self::Plastic => "plastic",
        })
    }
}
