//! A convex solid in its place: checked once when it is made, so that no query has to refuse it later.

use super::form::{Core, Form};
use super::frame::{Point, Pose, Vector};
use super::round::{Segment, point_to_core};
use super::search;
use super::shape::Shape;
use nalgebra::Matrix3;

/// Smallest size of a solid in millimetres: below it a shape is a slip of the pen, and the difference between
/// touching and overlapping would lose its meaning.
pub const LEAST_SIZE_MM: f64 = 0.001;

/// Largest size of a solid in millimetres, 10 m. Within it, `f64` resolves distances to better than a nanometre.
pub const GREATEST_SIZE_MM: f64 = 10_000.0;

/// Farthest that a solid may stand from the origin along any axis, in millimetres.
pub const FARTHEST_PLACE_MM: f64 = 100_000.0;

/// How far the length of a pose's quaternion may be off one before the pose is refused.
pub(crate) const ROTATION_ACCURACY: f64 = 1e-6;

/// How far outside its surface a point still counts as contained, in millimetres: a little more than the accuracy of
/// the search for hulls, so that points on the surface are in.
const CONTAINS_ACCURACY_MM: f64 = 1e-5;

/// A convex solid, placed in world axes. Cheap to clone and to move.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    form: Form,
    pose: Pose,
    axes: Matrix3<f64>,
    bounds: Bounds,
}

/// An upright box around a solid, in world axes, millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Least coordinates.
    pub min: Point,
    /// Greatest coordinates.
    pub max: Point,
}

/// A shape or a place from which no solid can be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BadShape {
    /// A size is not a number, zero, negative, or beyond [`GREATEST_SIZE_MM`].
    #[error(
        "expected {what} from {LEAST_SIZE_MM} to {GREATEST_SIZE_MM} mm, found {found}; sizes are full sizes in millimetres"
    )]
    Size {
        /// Which size.
        what: &'static str,
        /// Its value in millimetres.
        found: f64,
    },
    /// A hull has too few points to enclose anything.
    #[error("expected a hull of at least 4 points, found {found}")]
    FewPoints {
        /// How many points there are.
        found: usize,
    },
    /// A coordinate of a hull's point is not a number or too large.
    #[error(
        "expected the coordinates of hull point {index} (counting from 0) within {GREATEST_SIZE_MM} mm of the origin, \
         found {found:?}"
    )]
    HullPoint {
        /// Index of the point.
        index: usize,
        /// The point as given.
        found: [f64; 3],
    },
    /// All points of a hull lie in one plane, on one line or in one place.
    #[error(
        "expected a hull at least {LEAST_SIZE_MM} mm thick, found {thickness_mm} mm; add a point off the plane of the others"
    )]
    FlatHull {
        /// Greatest distance of any point from the plane of the others, in millimetres.
        thickness_mm: f64,
    },
    /// A place is not a number or too far away.
    #[error("expected a place within {FARTHEST_PLACE_MM} mm of the origin along each axis, found {found:?}")]
    Place {
        /// The place as given.
        found: [f64; 3],
    },
    /// The rotation of a pose is not one: its quaternion has not length one.
    #[error("expected a rotation, found a quaternion of length {length}; normalise it first")]
    Rotation {
        /// Length of the quaternion.
        length: f64,
    },
}

impl Solid {
    /// Places `shape` so that its own frame lands on `pose`.
    ///
    /// # Errors
    /// Refuses sizes outside [`LEAST_SIZE_MM`] to [`GREATEST_SIZE_MM`], hulls that are flat to [`LEAST_SIZE_MM`],
    /// places beyond [`FARTHEST_PLACE_MM`], and whatever is not a finite number.
    pub fn new(shape: &Shape, pose: Pose) -> Result<Self, BadShape> {
        let length = pose.rotation.quaternion().norm();
        if length.is_nan() || (length - 1.0).abs() > ROTATION_ACCURACY {
            return Err(BadShape::Rotation { length });
        }
        let place = pose.translation.vector;
        if !place.iter().all(|along| along.abs() <= FARTHEST_PLACE_MM) {
            return Err(BadShape::Place { found: place.into() });
        }
        let form = match shape {
            Shape::Box { size: [x, y, z] } => {
                let half = Vector::new(half("a box's x side", *x)?, half("its y side", *y)?, half("its z side", *z)?);
                Form { core: Core::Box { half }, round: 0.0 }
            }
            Shape::Cylinder { diameter, length } => {
                let (radius, half) = (half("a cylinder's diameter", *diameter)?, half("its length", *length)?);
                Form { core: Core::Cylinder { radius, half }, round: 0.0 }
            }
            Shape::Sphere { diameter } => Form { core: Core::Point, round: half("a sphere's diameter", *diameter)? },
            Shape::Capsule { diameter, length } => {
                let (round, half) = (half("a capsule's diameter", *diameter)?, half("its length", *length)?);
                Form { core: Core::Segment { half }, round }
            }
            Shape::Hull { points } => hull(points)?,
        };
        Ok(Self::placed(form, pose))
    }

    /// The shape, in its own frame.
    #[must_use]
    pub fn shape(&self) -> Shape {
        match &self.form.core {
            Core::Point => Shape::Sphere { diameter: 2.0 * self.form.round },
            Core::Segment { half } => Shape::Capsule { diameter: 2.0 * self.form.round, length: 2.0 * half },
            Core::Box { half } => Shape::Box { size: (2.0 * half).into() },
            Core::Cylinder { radius, half } => Shape::Cylinder { diameter: 2.0 * radius, length: 2.0 * half },
            Core::Hull { points } => Shape::Hull { points: points.iter().map(|point| (*point).into()).collect() },
        }
    }

    /// Where the shape's own frame sits in world axes.
    #[must_use]
    pub fn pose(&self) -> &Pose {
        &self.pose
    }

    /// The upright box around the solid: exact, except that a box or hull turned by rounding error may be out by it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// The same shape at another pose.
    ///
    /// A pose that is not finite gives a solid that overlaps everything, endlessly deep: the safe side of a slip.
    #[must_use]
    pub fn at(&self, pose: Pose) -> Self {
        Self::placed(self.form.clone(), pose)
    }

    /// The solid after the world motion `by`: its new pose is `by * pose`.
    #[must_use]
    pub fn moved(&self, by: &Pose) -> Self {
        self.at(by * self.pose)
    }

    /// Whether `point` lies in the solid or on its surface, to 1e-5 mm.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        self.signed_mm(&point.coords) <= CONTAINS_ACCURACY_MM
    }

    /// The signed distance of a point in world axes.
    pub(crate) fn signed_mm(&self, point: &Vector) -> f64 {
        let local = self.axes.tr_mul(&(point - self.centre()));
        let core = match &self.form.core {
            Core::Hull { points } => search::point_to_hull(points, &local).0,
            core => point_to_core(core, &local).signed,
        };
        core - self.form.round
    }

    pub(super) fn form(&self) -> &Form {
        &self.form
    }

    /// The local axes in world axes, as columns.
    pub(super) fn axes(&self) -> &Matrix3<f64> {
        &self.axes
    }

    /// The origin of the shape's frame.
    pub(super) fn centre(&self) -> Vector {
        self.pose.translation.vector
    }

    /// How far the solid reaches from its centre along `direction`, which has length one.
    pub(super) fn reach(&self, direction: &Vector) -> f64 {
        self.form.core.reach(&self.axes.tr_mul(direction)) + self.form.round
    }

    /// A capsule that contains the solid: the ends of its middle line, in world axes, and its radius in millimetres.
    pub(crate) fn capsule_around(&self) -> ([Point; 2], f64) {
        let (half, radius) = match &self.form.core {
            Core::Point => (Vector::zeros(), 0.0),
            Core::Segment { half } => (self.axes.column(2) * *half, 0.0),
            Core::Cylinder { radius, half } => (self.axes.column(2) * *half, *radius),
            Core::Box { half } => {
                let longest = half.imax();
                let across = half.norm_squared() - half[longest] * half[longest];
                (self.axes.column(longest) * half[longest], across.max(0.0).sqrt())
            }
            Core::Hull { points } => (Vector::zeros(), points.iter().map(Vector::norm).fold(0.0, f64::max)),
        };
        let centre = Point::from(self.centre());
        ([centre - half, centre + half], radius + self.form.round)
    }

    /// The line along the middle of a round self.
    pub(super) fn spine(&self) -> Option<Segment> {
        let half = match self.form().core {
            Core::Point => Vector::zeros(),
            Core::Segment { half } | Core::Cylinder { half, .. } => self.axes().column(2) * half,
            Core::Box { .. } | Core::Hull { .. } => return None,
        };
        Some(Segment { middle: self.centre(), half })
    }

    /// False for a solid that was moved to a pose that is not finite.
    pub(super) fn is_placed(&self) -> bool {
        self.bounds.min.x.is_finite()
    }

    fn placed(form: Form, pose: Pose) -> Self {
        let axes = pose.rotation.to_rotation_matrix().into_inner();
        let centre = pose.translation.vector;
        let bounds = if centre.iter().chain(axes.iter()).all(|number| number.is_finite()) {
            bounds(&form, &axes, &centre)
        } else {
            Bounds { min: Vector::repeat(f64::NEG_INFINITY).into(), max: Vector::repeat(f64::INFINITY).into() }
        };
        Self { form, pose, axes, bounds }
    }
}

impl Bounds {
    /// The smallest box around both.
    #[must_use]
    pub fn union(&self, other: &Bounds) -> Bounds {
        Bounds { min: self.min.inf(&other.min), max: self.max.sup(&other.max) }
    }

    /// Signed distance in millimetres between two upright boxes; never more than that of what they hold.
    #[must_use]
    pub fn signed_mm(&self, other: &Bounds) -> f64 {
        let gap = |axis: usize| (self.min[axis] - other.max[axis]).max(other.min[axis] - self.max[axis]);
        let (x, y, z) = (gap(0), gap(1), gap(2));
        let deepest = x.max(y).max(z);
        if deepest > 0.0 {
            let [x, y, z] = [x.max(0.0), y.max(0.0), z.max(0.0)];
            (x * x + y * y + z * z).sqrt()
        } else {
            deepest
        }
    }
}

fn half(what: &'static str, size: f64) -> Result<f64, BadShape> {
    if (LEAST_SIZE_MM..=GREATEST_SIZE_MM).contains(&size) {
        Ok(size / 2.0)
    } else {
        Err(BadShape::Size { what, found: size })
    }
}

/// Checks a hull's points and keeps each place once.
fn hull(points: &[[f64; 3]]) -> Result<Form, BadShape> {
    for (index, point) in points.iter().enumerate() {
        if !point.iter().all(|along| along.abs() <= GREATEST_SIZE_MM) {
            return Err(BadShape::HullPoint { index, found: *point });
        }
    }
    if points.len() < 4 {
        return Err(BadShape::FewPoints { found: points.len() });
    }
    let thickness_mm = thickness(points);
    if thickness_mm < LEAST_SIZE_MM {
        return Err(BadShape::FlatHull { thickness_mm });
    }
    let mut kept: Vec<Vector> = points.iter().map(|point| Vector::from(*point)).collect();
    kept.sort_by(|a, b| a.iter().partial_cmp(b.iter()).unwrap_or(std::cmp::Ordering::Equal));
    kept.dedup();
    Ok(Form { core: Core::Hull { points: kept.into() }, round: 0.0 })
}

/// How far the points stand off a plane through three of them that are spread wide; zero if there is no such plane.
fn thickness(points: &[[f64; 3]]) -> f64 {
    let points = || points.iter().map(|point| Vector::from(*point));
    let farthest = |measure: &dyn Fn(&Vector) -> f64| {
        points().max_by(|a, b| measure(a).total_cmp(&measure(b))).unwrap_or_else(Vector::zeros)
    };
    let first = points().next().unwrap_or_else(Vector::zeros);
    let first = farthest(&|point| (point - first).norm());
    let second = farthest(&|point| (point - first).norm());
    let Some(along) = (second - first).try_normalize(LEAST_SIZE_MM) else { return 0.0 };
    let third = farthest(&|point| (point - first).cross(&along).norm());
    let Some(normal) = (third - first).cross(&along).try_normalize(LEAST_SIZE_MM) else { return 0.0 };
    points().map(|point| (point - first).dot(&normal).abs()).fold(0.0, f64::max)
}

fn bounds(form: &Form, axes: &Matrix3<f64>, centre: &Vector) -> Bounds {
    if let Core::Hull { points } = &form.core {
        let corners = points.iter().map(|point| axes * point);
        let (low, high) = corners
            .fold((Vector::repeat(f64::INFINITY), Vector::repeat(f64::NEG_INFINITY)), |(low, high), corner| {
                (low.inf(&corner), high.sup(&corner))
            });
        return Bounds { min: (centre + low).into(), max: (centre + high).into() };
    }
    // Every other core is its own mirror image, so one reach serves both ends of each world axis; row `i` of the
    // matrix is world axis `i` in local axes.
    let reach = Vector::from_fn(|i, _| form.core.reach(&axes.row(i).transpose()) + form.round);
    Bounds { min: (centre - reach).into(), max: (centre + reach).into() }
}
