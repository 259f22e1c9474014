//! Puts the cast on Bevy's stage: an entity for each actor, changed only where the actor has changed.

use super::cast::{Actor, Item, Look, Subject, bounds, cast, gap_bounds};
use super::drawings::Drawings;
use super::facets::Cut;
use super::marks::{HATCH_TEXELS, Mark, hatch};
use super::mesh::{Triangles, lines};
use crate::desk::Stage;
use crate::look::{
    Show,
    palette::{Palette, Tint},
};
use bevy::{
    asset::RenderAssetUsages,
    image::{ImageAddressMode, ImageSampler, ImageSamplerDescriptor},
    light::{NotShadowCaster, NotShadowReceiver},
    prelude::*,
    render::render_resource::{Extent3d, TextureDimension, TextureFormat},
};
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

/// Keeps the entities in step with [`OnStage`] and [`Show`].
#[derive(Debug)]
pub struct ScenePlugin;

/// What is to be seen; whoever changes it changes the scene.
#[derive(Resource, Debug, Default)]
pub struct OnStage {
    /// What there is; nothing yet when `None`.
    pub subject: Option<Subject>,
    /// Where the parts of the chain stand.
    pub stage: Stage,
}

/// The entities of the scene and what they show.
#[derive(Resource, Default)]
pub struct Troupe {
    /// In the order of [`Item`], so that the entities are the same on every run.
    players: BTreeMap<Item, Player>,
    drawings: Drawings,
    /// By look, by whether the ground is dark, and by place; see [`place`].
    materials: HashMap<(Look, bool, u16), Handle<StandardMaterial>>,
    hatches: HashMap<Mark, Handle<Image>>,
    bounds: Option<[Vec3; 2]>,
    gap: Option<[Vec3; 2]>,
}

/// An entity and the actor that it shows.
#[derive(Debug)]
pub struct Player {
    /// The entity.
    pub entity: Entity,
    /// The actor.
    pub actor: Actor,
    cut: Option<Cut>,
    dark: bool,
}

/// Systems that bring the entities up to date.
#[derive(SystemSet, Clone, Debug, PartialEq, Eq, Hash)]
pub struct Present;

impl Plugin for ScenePlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<OnStage>()
            .init_resource::<Show>()
            .init_resource::<Troupe>()
            .add_systems(Startup, light)
            .add_systems(
                PostUpdate,
                present
                    .in_set(Present)
                    .run_if(resource_changed::<OnStage>.or_else(resource_changed::<Show>))
                    .before(TransformSystems::Propagate),
            );
    }
}

impl Troupe {
    /// What is on stage now, in the order of [`Item`].
    #[must_use]
    pub fn actors(&self) -> Vec<&Actor> {
        let mut actors: Vec<&Actor> = self.players.values().map(|player| &player.actor).collect();
        actors.sort_by_key(|actor| actor.item);
        actors
    }

    /// The entity that shows an item.
    #[must_use]
    pub fn player(&self, item: Item) -> Option<&Player> {
        self.players.get(&item)
    }

    /// The box around the gap that is looked at, its ports and its chain, in world millimetres.
    #[must_use]
    pub fn gap_bounds(&self) -> Option<[Vec3; 2]> {
        self.gap
    }

    /// The box around all that is on stage, in world millimetres.
    #[must_use]
    pub fn bounds(&self) -> Option<[Vec3; 2]> {
        self.bounds
    }
}

/// Width of the lines along edges, in pixels.
const LINE_PX: f32 = 1.4;
/// Dashes of a line, in multiples of its width.
const DASHED: GizmoLineStyle = GizmoLineStyle::Dashed { gap_scale: 3.0, line_scale: 5.0 };
/// How far lines are drawn before the faces that they bound; see [`Gizmo::depth_bias`].
const LINE_BIAS: f32 = -0.0015;

fn present(
    mut commands: Commands,
    (on_stage, show): (Res<OnStage>, Res<Show>),
    mut troupe: ResMut<Troupe>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut gizmos: ResMut<Assets<GizmoAsset>>,
    mut materials: ResMut<Assets<StandardMaterial>>,
    mut images: ResMut<Assets<Image>>,
) {
    let troupe = &mut *troupe;
    let palette = Palette::new(show.dark);
    let actors = match &on_stage.subject {
        Some(subject) => cast(subject, &on_stage.stage, &show, &mut troupe.drawings),
        None => Vec::new(),
    };
    troupe.bounds = bounds(&actors);
    troupe.gap = on_stage.subject.as_ref().and_then(|subject| gap_bounds(subject, &actors));
    let wanted: HashSet<Item> = actors.iter().map(|actor| actor.item).collect();
    troupe.players.retain(|item, player| {
        let stays = wanted.contains(item);
        if !stays {
            commands.entity(player.entity).despawn();
        }
        stays
    });
    let section = show.section.map(|section| section.cut());
    for actor in actors {
        let cut = section.map(|cut| cut.seen_from(&actor.pose));
        let known = troupe.players.get(&actor.item);
        let entity = known.map_or_else(
            || commands.spawn((actor.item, NotShadowCaster, NotShadowReceiver)).id(),
            |known| known.entity,
        );
        let mut entity_commands = commands.entity(entity);
        let same_shape =
            known.is_some_and(|known| Arc::ptr_eq(&known.actor.drawing, &actor.drawing) && (known.cut == cut));
        let same_look = known.is_some_and(|known| known.actor.look == actor.look && known.dark == show.dark);
        if known.is_none_or(|known| known.actor.pose != actor.pose) {
            let (_, rotation, translation) = actor.pose.to_scale_rotation_translation();
            entity_commands.insert(Transform::from_translation(translation).with_rotation(rotation));
        }
        if !same_shape || !same_look {
            let left = cut.map(|cut| actor.drawing.cut(&cut));
            let drawing = left.as_ref().unwrap_or(&**actor.drawing);
            if !same_shape {
                if drawing.pieces.is_empty() {
                    entity_commands.remove::<Mesh3d>();
                } else {
                    entity_commands.insert(Mesh3d(meshes.add(Triangles::of(drawing).mesh())));
                }
            }
            if is_sheet(actor.look) {
                entity_commands.remove::<Gizmo>();
            } else {
                let (color, gizmo) = line_style(&palette, actor.look);
                let handle = gizmos.add(lines(&drawing.edges, color));
                entity_commands.insert(Gizmo { handle, ..gizmo });
            }
        }
        if !same_look {
            let hatches = &mut troupe.hatches;
            let hatch = actor.look.mark;
            let hatch = hatch.map(|mark| hatches.entry(mark).or_insert_with(|| images.add(hatched(mark))).clone());
            let place = place(&palette, actor.look, actor.item);
            let material = troupe
                .materials
                .entry((actor.look, show.dark, place))
                .or_insert_with(|| materials.add(material(&palette, actor.look, place, hatch)));
            entity_commands.insert(MeshMaterial3d(material.clone()));
        }
        if known.is_none_or(|known| known.actor.name != actor.name) {
            entity_commands.insert(Name::new(actor.name.clone()));
        }
        troupe.players.insert(actor.item, Player { entity, actor, cut, dark: show.dark });
    }
}

/// One light for all that is not lit by the eye's own; see `look::camera`.
fn light(mut commands: Commands) {
    commands.insert_resource(GlobalAmbientLight { brightness: 900.0, ..default() });
}

/// Whether something is drawn as one plain sheet without its edges, so that it does not tangle what is seen through it.
fn is_sheet(look: Look) -> bool {
    let solid = matches!(look.tint, Tint::Component(_) | Tint::Port | Tint::Other(_));
    solid && look.mark.is_none() && (look.ghost || look.faded)
}

fn line_style(palette: &Palette, look: Look) -> (LinearRgba, Gizmo) {
    let mut color = palette.line(look.tint);
    let (mut width, mut depth_bias, mut style) = (LINE_PX, LINE_BIAS, GizmoLineStyle::Solid);
    match look.tint {
        // Seen through the parts that it runs in.
        Tint::Path => (width, depth_bias) = (2.2, -1.0),
        // What whoever makes the chain up has to find, whatever stands before it.
        Tint::Sign => (width, depth_bias) = (2.6, -1.0),
        Tint::Cover => style = DASHED,
        // Seen through whatever stands before it.
        Tint::Moved => (width, style, depth_bias) = (1.8, DASHED, -1.0),
        Tint::Near => style = DASHED,
        _ => {}
    }
    if look.ghost && look.tint != Tint::Moved {
        color.alpha = 0.35;
    }
    if let Some(mark) = look.mark {
        color = palette.alarm;
        (width, style) = match mark {
            Mark::Touching => (2.2, DASHED),
            Mark::InTheWay => (2.6, GizmoLineStyle::Dotted),
            Mark::Overlapping => (2.6, GizmoLineStyle::Solid),
            Mark::Inside => (4.5, GizmoLineStyle::Solid),
        };
    }
    let line_config = GizmoLineConfig { width, style, ..default() };
    (color.into(), Gizmo { line_config, depth_bias, ..default() })
}

/// Where among see-through things that are equally far away something is drawn, 0 for what cannot be seen through. A part
/// and its collar stand at one place, and whichever happens to come first would be seen through the other.
fn place(palette: &Palette, look: Look, item: Item) -> u16 {
    if color(palette, look).alpha >= 1.0 || is_sheet(look) {
        return 0;
    }
    let number = match item {
        Item::Body(body) => body * 2,
        Item::Lift(body) => body * 2 + 1,
        Item::Port(port) => 101 + port,
        Item::Part(part) => 201 + part * 3,
        Item::Collar(part, end) => 202 + part * 3 + end,
        Item::Path | Item::Zero(_) | Item::Joint(_) => 251,
        Item::Near(part, piece) => 252 + part * 3 + piece,
        Item::Moved(body) => 301 + body,
        Item::Other(gap, part, piece) => 401 + (gap * 10 + part) * 3 + piece,
    };
    u16::try_from(1 + number % PLACES).unwrap_or(0)
}

/// How much of a pixel a plain sheet takes: one of its four samples.
const SHEET_ALPHA: f32 = 0.3;

/// Places that are told apart: their shares of a millimetre stay below one.
const PLACES: usize = 990;

fn color(palette: &Palette, look: Look) -> Srgba {
    let mut color = palette.body(look.tint);
    if is_sheet(look) {
        color.alpha = SHEET_ALPHA;
    } else if (look.ghost || look.faded) && look.tint != Tint::Moved {
        color.alpha *= 0.12;
    }
    if look.mark == Some(Mark::Inside) {
        // What lies within the other would not be seen.
        color.alpha *= 0.5;
    }
    color
}

fn material(palette: &Palette, look: Look, place: u16, hatch: Option<Handle<Image>>) -> StandardMaterial {
    let color = color(palette, look);
    let sheet = matches!(look.tint, Tint::Sheet | Tint::Cover);
    StandardMaterial {
        base_color: color.into(),
        base_color_texture: hatch,
        perceptual_roughness: 0.75,
        reflectance: 0.25,
        alpha_mode: match color.alpha {
            // The nearest surface takes its share of each pixel, so that what lies behind it in the same body is not seen.
            _ if is_sheet(look) => AlphaMode::AlphaToCoverage,
            alpha if alpha < 1.0 => AlphaMode::Blend,
            _ => AlphaMode::Opaque,
        },
        cull_mode: if sheet { None } else { Some(bevy::render::render_resource::Face::Back) },
        double_sided: sheet,
        // Below one it moves nothing on the screen, and only orders what is drawn.
        depth_bias: f32::from(place) * 1e-3,
        ..default()
    }
}

/// The hatch of a mark, as a picture that repeats.
fn hatched(mark: Mark) -> Image {
    let texels: Vec<u8> =
        hatch(mark).into_iter().flat_map(|inked| if inked { [120, 20, 4, 255] } else { [255; 4] }).collect();
    let side = HATCH_TEXELS as u32;
    let size = Extent3d { width: side, height: side, depth_or_array_layers: 1 };
    let mut image =
        Image::new(size, TextureDimension::D2, texels, TextureFormat::Rgba8UnormSrgb, RenderAssetUsages::default());
    image.sampler = ImageSampler::Descriptor(ImageSamplerDescriptor {
        address_mode_u: ImageAddressMode::Repeat,
        address_mode_v: ImageAddressMode::Repeat,
        ..ImageSamplerDescriptor::linear()
    });
    image
}
