//! The scene as a model file: binary glTF 2.0, an open standard (Khronos Group, "glTF 2.0 Specification", ISO/IEC
//! 12113:2022), in metres with `y` up, as it wants.
//!
//! Each thing on stage is a node with its name; faces are triangles, edges are lines.

use crate::look::palette::Palette;
use crate::scene::{
    cast::{Actor, Look},
    facets::Sketch,
    mesh::Triangles,
};
use bevy::color::{ColorToComponents, LinearRgba};
use serde_json::{Value, json};
use std::collections::HashMap;
use std::sync::Arc;

/// The cast of a scene as the bytes of a `.glb` file.
///
/// The scene must be less than 4 GB, as the format's own sizes are.
#[must_use]
pub fn glb<'a>(name: &str, actors: impl IntoIterator<Item = &'a Actor>, palette: &Palette) -> Vec<u8> {
    let mut model = Model { palette: *palette, ..Model::default() };
    let children: Vec<usize> = actors.into_iter().map(|actor| model.node(actor)).collect();
    let half = std::f32::consts::FRAC_1_SQRT_2;
    let root = model.nodes.len();
    model.nodes.push(json!({
        "name": name,
        "children": children,
        // From millimetres with z up to metres with y up.
        "rotation": [-half, 0.0, 0.0, half],
        "scale": [0.001, 0.001, 0.001],
    }));
    let mut document = json!({
        "asset": { "version": "2.0", "generator": concat!("elbowroom-viewer ", env!("CARGO_PKG_VERSION")) },
        "scene": 0,
        "scenes": [{ "name": name, "nodes": [root] }],
        "nodes": model.nodes,
    });
    // The format allows no empty lists.
    for (key, list) in [
        ("meshes", model.meshes),
        ("materials", model.materials),
        ("accessors", model.accessors),
        ("bufferViews", model.views),
    ] {
        if !list.is_empty() {
            document[key] = list.into();
        }
    }
    if !model.bytes.is_empty() {
        document["buffers"] = json!([{ "byteLength": model.bytes.len() }]);
    }
    packed(document.to_string().into_bytes(), model.bytes)
}

#[derive(Default)]
struct Model {
    palette: Palette,
    nodes: Vec<Value>,
    meshes: Vec<Value>,
    materials: Vec<Value>,
    accessors: Vec<Value>,
    views: Vec<Value>,
    bytes: Vec<u8>,
    known_meshes: HashMap<(*const Sketch, Look), usize>,
    known_shapes: HashMap<*const Sketch, Vec<Value>>,
    known_materials: HashMap<(Look, bool), usize>,
}

/// Numbers of the format for types of numbers and uses of a buffer.
const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const ARRAY: u32 = 34962;
const INDICES: u32 = 34963;
const MODE_LINES: u32 = 1;

impl Model {
    fn node(&mut self, actor: &Actor) -> usize {
        let (_, rotation, translation) = actor.pose.to_scale_rotation_translation();
        let mut node = json!({
            "name": actor.name,
            "translation": translation.to_array(),
            "rotation": rotation.to_array(),
        });
        if let Some(mesh) = self.mesh(actor) {
            node["mesh"] = mesh.into();
        }
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// The same drawing in the same look is written once.
    fn mesh(&mut self, actor: &Actor) -> Option<usize> {
        let key = (Arc::as_ptr(&actor.drawing), actor.look);
        if let Some(known) = self.known_meshes.get(&key) {
            return Some(*known);
        }
        let mut primitives = self.shape(&actor.drawing);
        for primitive in &mut primitives {
            let lines = primitive["mode"] == MODE_LINES;
            primitive["material"] = self.material(actor.look, lines).into();
        }
        if primitives.is_empty() {
            return None;
        }
        self.meshes.push(json!({ "name": actor.name, "primitives": primitives }));
        self.known_meshes.insert(key, self.meshes.len() - 1);
        Some(self.meshes.len() - 1)
    }

    fn shape(&mut self, drawing: &Arc<Sketch>) -> Vec<Value> {
        if let Some(known) = self.known_shapes.get(&Arc::as_ptr(drawing)) {
            return known.clone();
        }
        let mut primitives = Vec::new();
        let triangles = Triangles::of(drawing);
        if !triangles.indices.is_empty() {
            let colors: Vec<[f32; 3]> = triangles.shades.iter().map(|shade| [*shade; 3]).collect();
            let indices = triangles.indices.iter().flat_map(|index| index.to_le_bytes()).collect();
            primitives.push(json!({
                "attributes": {
                    "POSITION": self.vectors(&triangles.positions, true),
                    "NORMAL": self.vectors(&triangles.normals, false),
                    "COLOR_0": self.vectors(&colors, false),
                },
                "indices": self.accessor(indices, INDICES, json!({
                    "componentType": UNSIGNED_INT, "count": triangles.indices.len(), "type": "SCALAR",
                })),
            }));
        }
        if !drawing.edges.is_empty() {
            let ends: Vec<[f32; 3]> = drawing.edges.iter().flatten().map(|end| end.to_array()).collect();
            primitives.push(json!({ "attributes": { "POSITION": self.vectors(&ends, true) }, "mode": MODE_LINES }));
        }
        self.known_shapes.insert(Arc::as_ptr(drawing), primitives.clone());
        primitives
    }

    fn material(&mut self, look: Look, lines: bool) -> usize {
        if let Some(known) = self.known_materials.get(&(look, lines)) {
            return *known;
        }
        let color = if lines { self.palette.line(look.tint) } else { self.palette.body(look.tint) };
        let color = if look.mark.is_some() { self.palette.alarm } else { color };
        let color = LinearRgba::from(color);
        let mut material = json!({
            "pbrMetallicRoughness": {
                "baseColorFactor": color.to_f32_array(), "metallicFactor": 0.0, "roughnessFactor": 0.8,
            },
        });
        if color.alpha < 1.0 {
            material["alphaMode"] = "BLEND".into();
            material["doubleSided"] = true.into();
        }
        self.materials.push(material);
        self.known_materials.insert((look, lines), self.materials.len() - 1);
        self.materials.len() - 1
    }

    fn vectors(&mut self, vectors: &[[f32; 3]], bounded: bool) -> usize {
        let bytes = vectors.iter().flatten().flat_map(|number| number.to_le_bytes()).collect();
        let mut accessor = json!({ "componentType": FLOAT, "count": vectors.len(), "type": "VEC3" });
        if bounded {
            let fold = |pick: fn(f32, f32) -> f32| {
                vectors.iter().copied().reduce(|a, b| [pick(a[0], b[0]), pick(a[1], b[1]), pick(a[2], b[2])])
            };
            accessor["min"] = json!(fold(f32::min));
            accessor["max"] = json!(fold(f32::max));
        }
        self.accessor(bytes, ARRAY, accessor)
    }

    fn accessor(&mut self, bytes: Vec<u8>, target: u32, mut accessor: Value) -> usize {
        // All numbers here are four bytes long, so what is appended stays aligned.
        self.views.push(json!({
            "buffer": 0, "byteOffset": self.bytes.len(), "byteLength": bytes.len(), "target": target,
        }));
        self.bytes.extend(bytes);
        accessor["bufferView"] = (self.views.len() - 1).into();
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }
}

/// The container: a header, the description, the numbers; each chunk filled up to a multiple of four bytes.
fn packed(mut description: Vec<u8>, mut numbers: Vec<u8>) -> Vec<u8> {
    description.resize(description.len().next_multiple_of(4), b' ');
    numbers.resize(numbers.len().next_multiple_of(4), 0);
    let chunks = [(b"JSON", description), (b"BIN\0", numbers)];
    let chunks = chunks.into_iter().filter(|(_, bytes)| !bytes.is_empty());
    let body: Vec<u8> = chunks
        .flat_map(|(kind, bytes)| [&(bytes.len() as u32).to_le_bytes()[..], &kind[..], &bytes[..]].concat())
        .collect();
    let mut file = b"glTF".to_vec();
    file.extend(2_u32.to_le_bytes());
    file.extend((body.len() as u32 + 12).to_le_bytes());
    file.extend(body);
    file
}
