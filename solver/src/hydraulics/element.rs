//! One thing that loses or gains pressure.

use super::{
    Coolant, Formula, Pump,
    component::{Coefficient, ComponentError, LossTable},
    doubt::Stance,
    friction::Met,
    loss::{Loss, Side},
    minor::{Coil, Entrance, Exit, Passage, Step, Tee, TeeLeg, Valve},
};

/// One thing on the way of the coolant that loses or gains pressure.
///
/// Every kind loses more the more flows through it (a pump gains less), which is what makes a circuit's answer the
/// only one there is.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Element {
    /// A fitting or a tube: a bore with bends.
    Passage(Passage),
    /// A sudden change of bore.
    Step(Step),
    /// From a vessel into a bore.
    Entrance(Entrance),
    /// From a bore into a vessel.
    Exit(Exit),
    /// A helical coil of tube.
    Coil(Coil),
    /// A valve, by Darby's three numbers.
    Valve(Valve),
    /// A component by its measured table.
    Table(LossTable),
    /// A component by one number.
    Coefficient(Coefficient),
    /// A pump, gaining along the stated direction.
    Pump(Pump),
    /// What is held back whatever the flow.
    Holdback(Holdback),
    /// One leg of a tee, from its port to the middle; the split's share is added by the circuit.
    Leg(Tee, TeeLeg),
}

/// A pressure that is held back whatever the flow: the opening pressure of a spring valve, or the height between two
/// open vessels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holdback {
    pa: f64,
}

impl Holdback {
    /// A pressure in Pa, against the stated direction.
    ///
    /// # Errors
    /// A negative pressure.
    pub fn new(pa: f64) -> Result<Self, ComponentError> {
        if pa >= 0.0 && pa.is_finite() { Ok(Self { pa }) } else { Err(ComponentError::Opening(pa)) }
    }
}

impl Element {
    /// Pressure lost along the stated direction at one end of its uncertainty, with its slope; a pump's is negative.
    #[must_use]
    pub fn loss(&self, flow_m3_s: f64, coolant: &Coolant, side: Side) -> Loss {
        self.loss_met(flow_m3_s, coolant, &Stance::of(side), &mut Met::default())
    }

    /// The same where the part stands, with the friction factors that were met before.
    pub(super) fn loss_met(&self, flow_m3_s: f64, coolant: &Coolant, stance: &Stance, met: &mut Met) -> Loss {
        let at = |formula| stance.at(formula);
        match self {
            Self::Passage(passage) => passage.loss_met(flow_m3_s, coolant, stance, met),
            Self::Step(step) => step.loss_at(flow_m3_s, coolant, at(Formula::Steps)),
            Self::Entrance(entrance) => entrance.loss_at(flow_m3_s, coolant, at(Formula::Vessels)),
            Self::Exit(exit) => exit.loss_at(flow_m3_s, coolant, at(Formula::Vessels)),
            Self::Coil(coil) => coil.loss_at(flow_m3_s, coolant, at(Formula::Coils)),
            Self::Valve(valve) => valve.loss_at(flow_m3_s, coolant, at(Formula::Valves)),
            Self::Table(table) => table.loss_at(flow_m3_s, coolant, at(Formula::Component)),
            Self::Coefficient(coefficient) => coefficient.loss_at(flow_m3_s, coolant, at(Formula::Component)),
            Self::Pump(pump) => pump.loss_at(flow_m3_s, coolant, at(Formula::Pump)),
            Self::Holdback(holdback) => Loss { pa: holdback.pa, slope: 0.0 },
            Self::Leg(tee, leg) => tee.laminar_loss_at(*leg, flow_m3_s, coolant, at(Formula::Tee)),
        }
    }

    /// What its loss is worked out with and so in doubt by, each perhaps more than once; not what its neighbours do to it.
    pub(super) fn formulas(&self, found: &mut Vec<Formula>) {
        match self {
            Self::Passage(passage) => {
                found.extend((passage.length_m() > 0.0).then_some(Formula::Friction));
                found.extend(passage.bends().iter().map(|bend| bend.kind.formula()));
            }
            Self::Step(_) => found.push(Formula::Steps),
            Self::Entrance(_) | Self::Exit(_) => found.push(Formula::Vessels),
            Self::Coil(_) => found.push(Formula::Coils),
            Self::Valve(_) => found.push(Formula::Valves),
            Self::Table(_) | Self::Coefficient(_) => found.push(Formula::Component),
            Self::Pump(_) => found.push(Formula::Pump),
            Self::Holdback(_) => {}
            Self::Leg(..) => found.push(Formula::Tee),
        }
    }

    /// Diameter of its narrowest bore in metres, where it has one that is known.
    #[must_use]
    pub fn bore_m(&self) -> Option<f64> {
        match self {
            Self::Entrance(entrance) => Some(entrance.bore_m()),
            Self::Exit(exit) => Some(exit.bore_m()),
            _ => {
                let (entry, exit) = self.end_bores_m();
                entry.zip(exit).map(|(entry, exit)| entry.min(exit))
            }
        }
    }

    /// Diameters of the bores at its two ends in metres, where they are known; the side of a vessel has none.
    #[must_use]
    pub fn end_bores_m(&self) -> (Option<f64>, Option<f64>) {
        let both = |bore| (Some(bore), Some(bore));
        match self {
            Self::Passage(passage) => both(passage.bore_m()),
            Self::Step(step) => (Some(step.bores_m().0), Some(step.bores_m().1)),
            Self::Entrance(entrance) => (None, Some(entrance.bore_m())),
            Self::Exit(exit) => (Some(exit.bore_m()), None),
            Self::Coil(coil) => both(coil.bore_m()),
            Self::Valve(valve) => both(valve.bore_m()),
            Self::Leg(tee, leg) => both(tee.bore_m(*leg)),
            Self::Table(_) | Self::Coefficient(_) | Self::Pump(_) | Self::Holdback(_) => (None, None),
        }
    }

    /// The pump, if it is one.
    #[must_use]
    pub fn as_pump(&self) -> Option<&Pump> {
        match self {
            Self::Pump(pump) => Some(pump),
            _ => None,
        }
    }
}
