//! Drawings as what a graphics card takes: triangles, and lines.

use super::facets::{Drawing, Tone};
use bevy::{
    asset::RenderAssetUsages,
    color::LinearRgba,
    gizmos::GizmoAsset,
    mesh::{Indices, Mesh, PrimitiveTopology},
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
    /// The facets that are seen, each cut into a fan.
    #[must_use]
    pub fn of(drawing: &Drawing) -> Self {
        let mut all = Self::default();
        for piece in &drawing.pieces {
            for facet in piece.facets.iter().filter(|facet| facet.seen) {
                let first = all.positions.len() as u32;
                let shade = if facet.cap { CAP } else { shade(piece.tone) };
                for corner in &facet.corners {
                    all.positions.push(corner.at.to_array());
                    all.normals.push(corner.normal.to_array());
                    all.shades.push(shade);
                }
                for next in 1..facet.corners.len().saturating_sub(1) as u32 {
                    all.indices.extend([first, first + next, first + next + 1]);
                }
            }
        }
        all
    }

    /// As Bevy's mesh. The first texture coordinate counts stripes of a hatch: planes across the diagonal of the axes,
    /// so that they run aslant over every face that is square to an axis.
    #[must_use]
    pub fn mesh(self) -> Mesh {
        let stripes: Vec<[f32; 2]> =
            self.positions.iter().map(|[x, y, z]| [(x + y + z) / (HATCH_MM * std::f32::consts::SQRT_2), 0.5]).collect();
        let colors: Vec<[f32; 4]> = self.shades.iter().map(|shade| [*shade, *shade, *shade, 1.0]).collect();
        Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::default())
            .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, self.positions)
            .with_inserted_attribute(Mesh::ATTRIBUTE_NORMAL, self.normals)
            .with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, stripes)
            .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colors)
            .with_inserted_indices(Indices::U32(self.indices))
    }
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
