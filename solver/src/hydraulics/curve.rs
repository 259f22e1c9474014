//! A curve through measured points that never swings.

use thiserror::Error;

/// A smooth curve through points that never rises where the points do not, and never falls where they do not.
///
/// Cubic between the points with the slopes of Fritsch and Butland (1984), the harmonic mean of the neighbouring
/// chords: no overshoot, so a measured loss stays a growing loss. (Also known as PCHIP.)
#[derive(Clone, Debug, PartialEq)]
pub struct MonotoneCurve {
    points: Vec<(f64, f64)>,
    slopes: Vec<f64>,
}

/// Why points were refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum CurveError {
    /// Too few points to say anything.
    #[error("{0} points: expected at least {1}")]
    TooFew(usize, usize),
    /// A number is not finite.
    #[error("point {index} is ({x}, {y}): expected finite numbers")]
    NotFinite {
        /// Which point, from 0.
        index: usize,
        /// Flow in m³/s.
        x: f64,
        /// Pressure in Pa.
        y: f64,
    },
    /// The points are not in order.
    #[error("point {index} lies at {x}, not beyond {before} of the point before it: list the points by growing flow")]
    Order {
        /// Which point, from 0.
        index: usize,
        /// Flow of the point before it in m³/s.
        before: f64,
        /// Its flow in m³/s.
        x: f64,
    },
    /// The curve turns around.
    #[error("the pressure {verb} from {before} to {y} Pa at point {index}: {remedy}")]
    Turns {
        /// Which point, from 0.
        index: usize,
        /// "rises" or "falls".
        verb: &'static str,
        /// Pressure at the point before it in Pa.
        before: f64,
        /// Its pressure in Pa.
        y: f64,
        /// What to do about it.
        remedy: &'static str,
    },
}

/// Which way the points of a curve go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trend {
    /// Each at least as high as the one before.
    Rising,
    /// Each at most as high as the one before.
    Falling,
}

impl MonotoneCurve {
    /// A curve through points of flow in m³/s and pressure in Pa, in order of flow.
    ///
    /// # Errors
    /// Fewer than two points, points out of order, or points against the trend.
    pub fn new(points: Vec<(f64, f64)>, trend: Trend) -> Result<Self, CurveError> {
        if points.len() < 2 {
            return Err(CurveError::TooFew(points.len(), 2));
        }
        if let Some((index, &(x, y))) = points.iter().enumerate().find(|(_, (x, y))| !(x.is_finite() && y.is_finite()))
        {
            return Err(CurveError::NotFinite { index, x, y });
        }
        for (index, pair) in points.windows(2).enumerate() {
            let [(x0, y0), (x1, y1)] = [pair[0], pair[1]];
            if x1 <= x0 {
                return Err(CurveError::Order { index: index + 1, before: x0, x: x1 });
            }
            let turns = |verb, remedy| CurveError::Turns { index: index + 1, verb, before: y0, y: y1, remedy };
            match trend {
                Trend::Rising if y1 < y0 => {
                    return Err(turns("falls", "a loss grows with flow; check the order of the columns"));
                }
                Trend::Falling if y1 > y0 => {
                    return Err(turns(
                        "rises",
                        "give the falling part of the pump curve, from zero flow to none lifted",
                    ));
                }
                Trend::Rising | Trend::Falling => {}
            }
        }
        let slopes = slopes(&points);
        Ok(Self { points, slopes })
    }

    /// The points.
    #[must_use]
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Height and slope at `x`; beyond the ends, those of the end.
    #[must_use]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let last = self.points.len() - 1;
        if x <= self.points[0].0 {
            return (self.points[0].1, self.slopes[0]);
        }
        if x >= self.points[last].0 {
            return (self.points[last].1, self.slopes[last]);
        }
        let right = self.points.partition_point(|point| point.0 <= x);
        let [(x0, y0), (x1, y1)] = [self.points[right - 1], self.points[right]];
        let [m0, m1] = [self.slopes[right - 1], self.slopes[right]];
        let (width, chord) = (x1 - x0, (y1 - y0) / (x1 - x0));
        let along = x - x0;
        let (square, cube) = ((3.0 * chord - 2.0 * m0 - m1) / width, (m0 + m1 - 2.0 * chord) / (width * width));
        let height = y0 + along * (m0 + along * (square + along * cube));
        (height, m0 + along * (2.0 * square + 3.0 * along * cube))
    }
}

/// Slopes at the points: zero where the chords turn, otherwise the harmonic mean of Fritsch and Butland, weighted by
/// the widths; at the ends a parabola's, held to the sign and to three times the chord.
fn slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let widths: Vec<f64> = points.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    let chords: Vec<f64> =
        points.windows(2).zip(&widths).map(|(pair, width)| (pair[1].1 - pair[0].1) / width).collect();
    let last = chords.len() - 1;
    if last == 0 {
        return vec![chords[0]; 2];
    }
    let end = |near_width: f64, far_width: f64, near: f64, far: f64| {
        let slope = ((2.0 * near_width + far_width) * near - near_width * far) / (near_width + far_width);
        if slope * near <= 0.0 {
            0.0
        } else if near * far <= 0.0 && slope.abs() > 3.0 * near.abs() {
            3.0 * near
        } else {
            slope
        }
    };
    let mut slopes = vec![end(widths[0], widths[1], chords[0], chords[1])];
    for inner in 0..last {
        let (before, after) = (chords[inner], chords[inner + 1]);
        slopes.push(if before * after <= 0.0 {
            0.0
        } else {
            let weight_before = 2.0 * widths[inner + 1] + widths[inner];
            let weight_after = widths[inner + 1] + 2.0 * widths[inner];
            (weight_before + weight_after) / (weight_before / before + weight_after / after)
        });
    }
    slopes.push(end(widths[last], widths[last - 1], chords[last], chords[last - 1]));
    slopes
}
