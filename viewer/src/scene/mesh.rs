//! Drawings as what a graphics card takes: triangles, and lines.

use super::facets::{Corner, Drawing, Tone};
use bevy::{
    asset::RenderAssetUsages,
    color::LinearRgba,
    gizmos::GizmoAsset,
    mesh::{Indices, Mesh, PrimitiveTopology},
    platform::collections::HashMap,
};

/// Distance between two stripes of a hatch, in millimetres, across surfaces square to an axis.
pub const HATCH_MM: f32 = 5.0;

/// A drawing's facets as flat arrays: one triangle for each three indices, facing outward.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Triangles {
    /// Places in millimetres.
    pub positions: Vec<[f32; 3]>,
    /// Normals of length one.
    pub normals: Vec<[f32; 3]>,
    /// How bright the corner is, against the colour of the whole.
    pub shades: Vec<f32>,
    /// Corners of the triangles.
    pub indices: Vec<u32>,
}

impl Triangles {
    /// The facets that are seen, each cut into a fan. Facets of one smooth surface share their corners: round bodies
    /// would take four times the room otherwise.
    #[must_use]
    pub fn of(drawing: &Drawing) -> Self {
        let mut all = Self::default();
        let mut known: HashMap<[u32; 6], u32> = HashMap::default();
        let mut fan = Vec::new();
        for piece in &drawing.pieces {
            known.clear();
            for facet in piece.facets.iter().filter(|facet| facet.seen) {
                let shade = if facet.cap { CAP } else { shade(piece.tone) };
                fan.clear();
                fan.extend(facet.corners.iter().map(|corner| {
                    if facet.cap {
                        all.add(corner, shade)
                    } else {
                        *known.entry(bits(corner)).or_insert_with(|| all.add(corner, shade))
                    }
                }));
                for two in fan.windows(2).skip(1) {
                    all.indices.extend([fan[0], two[0], two[1]]);
                }
            }
        }
        all
    }

    /// Adds a corner and gives its index.
    fn add(&mut self, corner: &Corner, shade: f32) -> u32 {
        self.positions.push(corner.at.to_array());
        self.normals.push(corner.normal.to_array());
        self.shades.push(shade);
        self.positions.len() as u32 - 1
    }

    /// As Bevy's mesh, of which only the graphics card keeps a copy. The texture coordinates count stripes of a hatch:
    /// planes across a diagonal of the axes, so that they run aslant over every face that is square to an axis, and
    /// planes that cross those.
    #[must_use]
    pub fn mesh(self) -> Mesh {
        let pitch = HATCH_MM * std::f32::consts::SQRT_2;
        let stripes: Vec<[f32; 2]> =
            self.positions.iter().map(|[x, y, z]| [(x + y + z) / pitch, (x - y) / pitch]).collect();
        let colors: Vec<[f32; 4]> = self.shades.iter().map(|shade| [*shade, *shade, *shade, 1.0]).collect();
        Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
            .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, self.positions)
            .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, self.normals)
            .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, stripes)
            .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colors)
            .with_inserted_indices(Indices::U32(self.indices))
    }
}

/// A corner to the bit, to find it again.
fn bits(corner: &Corner) -> [u32; 6] {
    let ([x, y, z], [a, b, c]) = (corner.at.to_array(), corner.normal.to_array());
    [x, y, z, a, b, c].map(f32::to_bits)
}

/// Segments in one colour.
#[must_use]
pub fn lines<'a>(segments: impl IntoIterator<Item = &'a [bevy::math::Vec3; 2]>, color: LinearRgba) -> GizmoAsset {
    let mut asset = GizmoAsset::default();
    for [from, to] in segments {
        asset.line(*from, *to, color);
    }
    asset
}

/// Brightness of the face that closes a cut.
const CAP: f32 = 0.45;

fn shade(tone: Tone) -> f32 {
    match tone {
        Tone::Plain => 1.0,
        Tone::Shaded => 0.55,
        Tone::Opening => 0.05,
    }
}

#[cfg(test)]
mod tests {
    use super::Triangles;
    use crate::scene::shapes::{ROUND_SIDES, drawn};
    use elbowroom::geometry::Shape;

    #[test]
    fn smooth_surfaces_share_corners_and_edges_do_not() {
        let cases = [
            (Shape::Box { size: [2.0, 3.0, 4.0] }, 24, 12),
            // A wall and two discs.
            (Shape::Cylinder { diameter: 4.0, length: 3.0 }, 4 * ROUND_SIDES, 2 * ROUND_SIDES + 2 * (ROUND_SIDES - 2)),
        ];
        for (shape, corners, triangles) in cases {
            let found = Triangles::of(&drawn(&shape));
            assert_eq!((found.positions.len(), found.indices.len() / 3), (corners, triangles), "{shape:?}");
            assert!(found.indices.iter().all(|index| (*index as usize) < corners));
            assert_eq!((found.normals.len(), found.shades.len()), (corners, corners));
        }
    }
}
