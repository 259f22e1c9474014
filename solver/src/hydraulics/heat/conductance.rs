//! How well a radiator leads heat from the coolant to the air.

use thiserror::Error;

/// The conductance of a radiator, UA: watts per kelvin of the mean difference between coolant and air, by the flow of
/// both. It is no share of the difference between their inlets: that follows from it and the two capacity rates.
#[derive(Clone, Debug, PartialEq)]
pub struct Conductance {
    law: Law,
    factor: f64,
}

#[derive(Clone, Debug, PartialEq)]
enum Law {
    Point { coolant_m3_s: f64, air_m3_s: f64, w_k: f64 },
    Grid { coolant_m3_s: Vec<f64>, air_m3_s: Vec<f64>, w_k: Vec<f64> },
}

/// Share of the resistance of a radiator known at one point that lies on the side of the air, and with which power of
/// their flows the conductances of both sides grow. Judgements for finned tubes (from memory): the air side has most of
/// it and grows with a power of 0.5 to 0.65, the coolant's with 0 to 0.8 from laminar to turbulent.
const AIR_SHARE: f64 = 0.8;
const AIR_POWER: f64 = 0.6;
const COOLANT_POWER: f64 = 0.4;

/// Why a conductance was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ConductanceError {
    /// A flow or a conductance is not above zero.
    #[error("point {index} is not above 0 throughout: expected a coolant flow, an air flow and W/K, each above 0")]
    NotPositive {
        /// Which point, from 0.
        index: usize,
    },
    /// The points do not fill a grid.
    #[error(
        "{found} points where {wanted} would fill the grid of their flows: measure each coolant flow at each air flow, once"
    )]
    NoGrid {
        /// How many there are.
        found: usize,
        /// How many the different flows make.
        wanted: usize,
    },
    /// More flow brings less.
    #[error("the conductance falls from {before} to {w_k} W/K as a flow grows: check the order of the columns")]
    Falls {
        /// With less flow.
        before: f64,
        /// With more.
        w_k: f64,
    },
}

impl Conductance {
    /// A radiator known at points of coolant flow in m³/s, air flow in m³/s and conductance in W/K, each coolant flow at
    /// each air flow. Between the points it is led over in proportion; beyond them it stays as at the nearest.
    ///
    /// One point is continued by a law: four fifths of the resistance lie on the side of the air and fall with the power
    /// 0.6 of its flow, the rest on that of the coolant, with the power 0.4.
    ///
    /// # Errors
    /// Numbers that are not above zero, points that do not fill a grid, or a conductance that falls as a flow grows.
    pub fn new(points: &[[f64; 3]]) -> Result<Self, ConductanceError> {
        let positive = |point: &[f64; 3]| point.iter().all(|value| *value > 0.0 && value.is_finite());
        if let Some(index) = points.iter().position(|point| !positive(point)) {
            return Err(ConductanceError::NotPositive { index });
        }
        if let &[[coolant_m3_s, air_m3_s, w_k]] = points {
            return Ok(Self { law: Law::Point { coolant_m3_s, air_m3_s, w_k }, factor: 1.0 });
        }
        let [coolant_m3_s, air_m3_s] = [0, 1].map(|column: usize| {
            let mut values: Vec<f64> = points.iter().map(|point| point[column]).collect();
            values.sort_by(f64::total_cmp);
            values.dedup();
            values
        });
        let wanted = coolant_m3_s.len() * air_m3_s.len();
        let at = |coolant: f64, air: f64| points.iter().find(|point| point[0] == coolant && point[1] == air);
        let w_k: Vec<f64> = coolant_m3_s
            .iter()
            .flat_map(|&coolant| air_m3_s.iter().filter_map(move |&air| at(coolant, air)))
            .map(|point| point[2])
            .collect();
        if points.is_empty() || w_k.len() != wanted || points.len() != wanted {
            return Err(ConductanceError::NoGrid { found: points.len(), wanted: wanted.max(1) });
        }
        let columns = air_m3_s.len();
        for (index, &value) in w_k.iter().enumerate() {
            let before = [(index % columns > 0).then(|| w_k[index - 1]), index.checked_sub(columns).map(|up| w_k[up])];
            if let Some(before) = before.into_iter().flatten().find(|before| *before > value) {
                return Err(ConductanceError::Falls { before, w_k: value });
            }
        }
        Ok(Self { law: Law::Grid { coolant_m3_s, air_m3_s, w_k }, factor: 1.0 })
    }

    /// The same times a factor above zero, such as for a larger radiator.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { factor: self.factor * factor, ..self }
    }

    /// W/K at a flow of coolant and of air in m³/s, either way; none where either does not flow.
    #[must_use]
    pub fn w_k(&self, coolant_m3_s: f64, air_m3_s: f64) -> f64 {
        let (coolant, air) = (coolant_m3_s.abs(), air_m3_s.abs());
        if coolant == 0.0 || air == 0.0 {
            return 0.0;
        }
        self.factor
            * match &self.law {
                Law::Point { coolant_m3_s, air_m3_s, w_k } => {
                    let air_side = AIR_SHARE * (air_m3_s / air).powf(AIR_POWER);
                    let coolant_side = (1.0 - AIR_SHARE) * (coolant_m3_s / coolant).powf(COOLANT_POWER);
                    w_k / (air_side + coolant_side)
                }
                Law::Grid { coolant_m3_s, air_m3_s, w_k } => {
                    let (row, along) = cell(coolant_m3_s, coolant);
                    let (column, across) = cell(air_m3_s, air);
                    let (last_row, last_column) = (coolant_m3_s.len() - 1, air_m3_s.len() - 1);
                    let value =
                        |row: usize, column: usize| w_k[row.min(last_row) * air_m3_s.len() + column.min(last_column)];
                    let at = |row: usize| (1.0 - across) * value(row, column) + across * value(row, column + 1);
                    (1.0 - along) * at(row) + along * at(row + 1)
                }
            }
    }

    /// Whether flows in m³/s lie where it was measured; around a single point from half to twice.
    #[must_use]
    pub fn is_measured(&self, coolant_m3_s: f64, air_m3_s: f64) -> bool {
        let (coolant, air) = (coolant_m3_s.abs(), air_m3_s.abs());
        let within = |low: f64, high: f64, value: f64| (low..=high).contains(&value);
        match &self.law {
            Law::Point { coolant_m3_s, air_m3_s, .. } => {
                within(0.5 * coolant_m3_s, 2.0 * coolant_m3_s, coolant) && within(0.5 * air_m3_s, 2.0 * air_m3_s, air)
            }
            Law::Grid { coolant_m3_s, air_m3_s, .. } => [(coolant_m3_s, coolant), (air_m3_s, air)]
                .into_iter()
                .all(|(values, value)| within(values[0], values[values.len() - 1], value)),
        }
    }
}

/// Which cell of growing values one lies in, and how far along it; held to the ends.
fn cell(values: &[f64], at: f64) -> (usize, f64) {
    let right = values.partition_point(|value| *value <= at);
    if right == 0 {
        return (0, 0.0);
    }
    if right == values.len() {
        return (right - 1, 0.0);
    }
    let [low, high] = [values[right - 1], values[right]];
    (right - 1, (at - low) / (high - low))
}
