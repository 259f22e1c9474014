//! Writes the scene's notes over the picture: each as a small label, with a line where it measures something. A label
//! that would cover one written before it is left out; zooming in makes room.

use super::camera::{SceneCamera, Watch};
use super::pick::{pick, ray};
use super::{Show, palette::Palette};
use crate::scene::{
    Item, OnStage, Troupe,
    mesh::lines,
    notes::{Kind, Note, notes},
    present::Present,
};
use bevy::{prelude::*, ui::UiSystems, window::RequestRedraw};
use std::collections::HashMap;

/// Writes the notes.
#[derive(Debug)]
pub struct LetteringPlugin;

/// Notes of the moment; the scene's own, and those that measuring adds.
#[derive(Resource, Debug, Default)]
pub struct Notes {
    /// From the scene, renewed whenever it changes.
    pub scene: Vec<Note>,
    /// From measuring.
    pub measured: Vec<Note>,
}

/// A label on screen.
#[derive(Component)]
struct Label;

/// The lines of dimensions.
#[derive(Component)]
struct DimensionLines;

/// Height of the letters, in pixels.
const LETTER_PX: f32 = 12.0;
/// Half the length of a tick at the end of a dimension line, as a share of the view's height.
const TICK: f32 = 0.006;

impl Plugin for LetteringPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Notes>().add_systems(
            PostUpdate,
            (
                renew.after(Present).run_if(resource_changed::<OnStage>.or_else(resource_changed::<Show>)),
                write.after(renew).before(UiSystems::Prepare),
            ),
        );
    }
}

fn renew(on_stage: Res<OnStage>, show: Res<Show>, troupe: Res<Troupe>, mut written: ResMut<Notes>) {
    let found = on_stage.subject.as_ref().map(|subject| notes(subject, &on_stage.stage, &troupe.actors(), &show));
    let found = found.unwrap_or_default();
    if written.scene != found {
        written.scene = found;
    }
}

/// A label's room on screen, in pixels.
fn room(at: Vec2, text: &str) -> Rect {
    // The default letters are about 0.55 as wide as high.
    let half = Vec2::new(text.chars().count() as f32 * LETTER_PX * 0.29 + 5.0, LETTER_PX * 0.75);
    Rect { min: at - half, max: at + half }
}

fn write(
    (mut commands, mut redraw): (Commands, MessageWriter<RequestRedraw>),
    (notes, show): (Res<Notes>, Res<Show>),
    (watch, troupe): (Res<Watch>, Res<Troupe>),
    (mut spots, mut stale): (Local<HashMap<Item, Option<Vec3>>>, Local<bool>),
    camera: Option<Single<&Camera, With<SceneCamera>>>,
    mut labels: Query<(Entity, &mut Text, &mut Node, &mut TextColor, &mut BackgroundColor), With<Label>>,
    (dimension_lines, mut gizmos): (Query<Entity, With<DimensionLines>>, ResMut<Assets<GizmoAsset>>),
) {
    let Some(size) = camera.and_then(|camera| camera.logical_viewport_size()) else { return };
    let eye = &watch.0;
    let palette = Palette::new(show.dark);
    let color = |kind: Kind| match kind {
        Kind::Overlap => palette.alarm,
        Kind::Dimension => palette.measure,
        Kind::End | Kind::Name => palette.ink,
    };
    let mut all: Vec<&Note> = notes.measured.iter().chain(&notes.scene).collect();
    all.sort_by_key(|note| note.kind);
    let mut taken: Vec<Rect> = Vec::new();
    let mut wanted: Vec<(&Note, Rect)> = Vec::new();
    let reach = troupe.bounds().map_or(1_000.0, |[low, high]| low.distance(high) + eye.target.distance(low));
    let cut = show.section.map(|section| section.cut());
    let actors = troupe.actors();
    // Where something is seen of a thing that is named, and no other label stands.
    let seen = |item: Item, at: Vec3| {
        let place = eye.on_screen(at)?;
        let hit = pick(actors.iter().copied(), &ray(eye, place, reach), cut.as_ref());
        hit.is_some_and(|hit| hit.item == item).then_some(place)
    };
    let on_picture = |place: Vec2| size / 2.0 + Vec2::new(place.x, -place.y) * size.y;
    // Looking for what is seen takes longer than a frame may in a crowd, so names keep their places while the eye moves.
    *stale |= watch.is_changed() || notes.is_changed() || show.is_changed();
    let look = *stale && !watch.is_changed();
    if look {
        *stale = false;
        spots.clear();
    } else if *stale {
        redraw.write(RequestRedraw);
    }
    for note in all {
        let free = |room: &Rect| taken.iter().all(|other| other.intersect(*room).is_empty());
        let found = match &note.named {
            Some((item, choice)) => {
                let fitted = |place: Vec2| Some(room(on_picture(place), &note.text)).filter(free);
                if look {
                    let found = choice.iter().find_map(|spot| Some((*spot, fitted(seen(*item, *spot)?)?)));
                    spots.insert(*item, found.map(|(spot, _)| spot));
                    found.map(|(_, room)| room)
                } else {
                    spots.get(item).copied().flatten().and_then(|spot| fitted(eye.on_screen(spot)?))
                }
            }
            None => eye.on_screen(note.at).and_then(|place| {
                let lift = if note.line.is_some() { LETTER_PX * 1.6 } else { 0.0 };
                Some(room(on_picture(place) - Vec2::Y * lift, &note.text)).filter(free)
            }),
        };
        if let Some(room) = found {
            taken.push(room);
            wanted.push((note, room));
        }
    }
    let mut wanted = wanted.into_iter();
    for (entity, mut text, mut node, mut letters, mut paper) in &mut labels {
        let Some((note, room)) = wanted.next() else {
            commands.entity(entity).despawn();
            continue;
        };
        if text.0 != note.text {
            text.0.clone_from(&note.text);
        }
        let wanted = place(room);
        if *node != wanted {
            *node = wanted;
        }
        letters.set_if_neq(TextColor(color(note.kind).into()));
        paper.set_if_neq(BackgroundColor(palette.paper.with_alpha(0.8).into()));
    }
    for (note, room) in wanted {
        commands.spawn((
            Label,
            Text::new(note.text.clone()),
            TextFont { font_size: FontSize::Px(LETTER_PX), ..default() },
            TextColor(color(note.kind).into()),
            TextLayout::justify(Justify::Center),
            BackgroundColor(palette.paper.with_alpha(0.8).into()),
            place(room),
            Pickable::IGNORE,
        ));
    }
    if notes.is_changed() || show.is_changed() {
        for entity in &dimension_lines {
            commands.entity(entity).despawn();
        }
        for kind in [Kind::Overlap, Kind::Dimension] {
            let of_kind = notes.measured.iter().chain(&notes.scene).filter(|note| note.kind == kind);
            let segments: Vec<[Vec3; 2]> =
                of_kind.filter_map(|note| note.line).flat_map(|line| dimension(line, eye.span_mm * TICK)).collect();
            if !segments.is_empty() {
                let handle = gizmos.add(lines(&segments, color(kind).into()));
                let line_config = GizmoLineConfig { width: 3.0, ..default() };
                commands.spawn((DimensionLines, Gizmo { handle, line_config, depth_bias: -1.0 }));
            }
        }
    }
}

/// A dimension line with a tick across either end, crossed by a second one so that it is seen from all sides.
fn dimension([from, to]: [Vec3; 2], tick_mm: f32) -> [[Vec3; 2]; 5] {
    let along = (to - from).try_normalize().unwrap_or(Vec3::Z);
    let (across, up) = along.any_orthonormal_pair();
    let tick = |at: Vec3, way: Vec3| [at - way * tick_mm, at + way * tick_mm];
    [[from, to], tick(from, across), tick(from, up), tick(to, across), tick(to, up)]
}

fn place(room: Rect) -> Node {
    Node {
        position_type: PositionType::Absolute,
        left: px(room.min.x.round()),
        top: px(room.min.y.round()),
        padding: UiRect::axes(px(4), px(1)),
        border_radius: BorderRadius::all(px(3)),
        ..default()
    }
}
