//! Writes the scene's notes over the picture: each as a small label, with a line where it measures something, and with a
//! leader where it stands beside what it is about. A label that finds no room is left out; zooming in makes room.

use super::camera::{SceneCamera, Watch};
use super::pick::{pick, ray};
use super::rooms::{Page, Placed, Spots, rooms};
use super::{Show, palette::Palette, seeing::places};
use crate::scene::{
    OnStage, Troupe,
    mesh::lines,
    notes::{Kind, Note, notes},
    present::Present,
};
use bevy::{math::Rot2, prelude::*, ui::UiSystems, window::RequestRedraw};
use std::collections::HashMap;
use std::time::Duration;

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

/// How long names may look for their places in one frame; as long as it takes when `None`, as pictures want it.
#[derive(Resource, Clone, Copy, Debug, Default)]
pub struct Patience(pub Option<Duration>);

/// A label on screen, and what it says.
#[derive(Component)]
struct Label {
    kind: Kind,
    text: String,
}

/// A line from what a label is about to the label.
#[derive(Component)]
struct Leader;

/// The lines of dimensions.
#[derive(Component)]
struct DimensionLines;

/// Height of the letters, in pixels.
pub(super) const LETTER_PX: f32 = 12.0;
/// Width of a leader, in pixels.
const LEADER_PX: f32 = 1.5;
/// Half the length of a tick at the end of a dimension line, as a share of the view's height.
const TICK: f32 = 0.006;

impl Plugin for LetteringPlugin {
    fn build(&self, app: &mut App) {
        let anything = resource_changed::<Notes>.or_else(resource_changed::<Show>).or_else(resource_changed::<Watch>);
        app.init_resource::<Notes>().init_resource::<Patience>().add_systems(
            PostUpdate,
            (
                renew.after(Present).run_if(resource_changed::<OnStage>.or_else(resource_changed::<Show>)),
                write.after(renew).before(UiSystems::Prepare),
                dimension_lines.after(renew).run_if(anything),
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

fn color(palette: &Palette, kind: Kind) -> Color {
    match kind {
        Kind::Overlap | Kind::Touch => palette.alarm,
        Kind::Dimension | Kind::Near | Kind::Zero => palette.measure,
        Kind::End | Kind::Name => palette.ink,
    }
    .into()
}

fn write(
    (mut commands, mut redraw): (Commands, MessageWriter<RequestRedraw>),
    (notes, show, patience): (Res<Notes>, Res<Show>, Res<Patience>),
    (watch, troupe): (Res<Watch>, Res<Troupe>),
    (mut spots, mut last_size, mut last_leaders): (Local<Spots>, Local<Vec2>, Local<Vec<Line>>),
    leaders: Query<Entity, With<Leader>>,
    camera: Option<Single<&Camera, With<SceneCamera>>>,
    mut labels: Query<(Entity, &Label, &mut UiTransform, &mut Visibility, &mut TextColor, &mut BackgroundColor)>,
) {
    let Some(size) = camera.and_then(|camera| camera.logical_viewport_size()) else { return };
    let changed = watch.is_changed() || notes.is_changed() || show.is_changed() || size != *last_size;
    if !changed && !spots.stale {
        return;
    }
    *last_size = size;
    let mut all: Vec<&Note> = notes.measured.iter().chain(&notes.scene).collect();
    all.sort_by_key(|note| note.kind);
    if changed {
        spots.start_again();
    }
    let actors = troupe.actors();
    let (eye, cut) = (&watch.0, show.section.map(|section| section.cut()));
    let reach = troupe.bounds().map_or(1_000.0, |[low, high]| low.distance(high) + eye.target.distance(low));
    let seen = |item, at| {
        let hit =
            eye.on_screen(at).and_then(|place| pick(actors.iter().copied(), &ray(eye, place, reach), cut.as_ref()));
        hit.is_some_and(|hit| hit.item == item)
    };
    let seen: Option<Box<dyn Fn(_, _) -> bool>> =
        if spots.stale && !watch.is_changed() { Some(Box::new(seen)) } else { None };
    let page = Page { eye, size, chain: places(&actors), seen };
    let rooms = rooms(&all, &page, &mut spots, patience.0);
    let palette = Palette::new(show.dark);
    let lines = all.iter().zip(&rooms).filter_map(|(note, placed)| {
        let ends = placed.as_ref()?.leader?;
        Some(Line { ends, color: color(&palette, note.kind) })
    });
    let lines: Vec<Line> = lines.collect();
    if *last_leaders != lines {
        leaders.iter().for_each(|leader| commands.entity(leader).despawn());
        lines.iter().for_each(|line| draw(&mut commands, line));
        *last_leaders = lines;
    }
    if spots.stale {
        redraw.write(RequestRedraw);
    }
    // A label is made once and then moved or hidden, since laying letters out takes longer than all the rest.
    let mut by_words: HashMap<(Kind, &str), Vec<Option<Placed>>> = HashMap::new();
    for (note, room) in all.iter().zip(rooms).rev() {
        by_words.entry((note.kind, &note.text)).or_default().push(room);
    }
    let paper = Color::from(palette.paper.with_alpha(0.8));
    for (entity, label, mut transform, mut visibility, mut letters, mut ground) in &mut labels {
        let Some(room) = by_words.get_mut(&(label.kind, label.text.as_str())).and_then(Vec::pop) else {
            commands.entity(entity).despawn();
            continue;
        };
        visibility.set_if_neq(if room.is_some() { Visibility::Inherited } else { Visibility::Hidden });
        if let Some(room) = room {
            transform.set_if_neq(place(room.room));
        }
        letters.set_if_neq(TextColor(color(&palette, label.kind)));
        ground.set_if_neq(BackgroundColor(paper));
    }
    for ((kind, text), rooms) in by_words {
        for room in rooms.into_iter().flatten() {
            commands.spawn((
                Label { kind, text: text.to_owned() },
                Text::new(text),
                TextFont { font_size: FontSize::Px(LETTER_PX), ..default() },
                TextColor(color(&palette, kind)),
                TextLayout::new(Justify::Center, LineBreak::NoWrap),
                BackgroundColor(paper),
                Node {
                    position_type: PositionType::Absolute,
                    padding: UiRect::axes(px(4), px(1)),
                    border_radius: BorderRadius::all(px(3)),
                    ..default()
                },
                place(room.room),
                Pickable::IGNORE,
            ));
        }
    }
}

/// A leader: its ends in pixels, and its colour.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Line {
    ends: [Vec2; 2],
    color: Color,
}

/// Draws a leader, under all labels.
fn draw(commands: &mut Commands, line: &Line) {
    let [from, to] = line.ends;
    let (step, middle) = (to - from, from.midpoint(to));
    let length = step.length();
    let corner = middle - Vec2::new(length, LEADER_PX) / 2.0;
    commands.spawn((
        Leader,
        Node { position_type: PositionType::Absolute, width: px(length), height: px(LEADER_PX), ..default() },
        BackgroundColor(line.color),
        UiTransform {
            translation: Val2::px(corner.x, corner.y),
            rotation: Rot2::radians(step.y.atan2(step.x)),
            ..default()
        },
        GlobalZIndex(-1),
        Pickable::IGNORE,
    ));
}

fn dimension_lines(
    mut commands: Commands,
    (notes, show, watch): (Res<Notes>, Res<Show>, Res<Watch>),
    lines_before: Query<Entity, With<DimensionLines>>,
    mut gizmos: ResMut<Assets<GizmoAsset>>,
    mut last: Local<Option<f32>>,
) {
    let span_mm = watch.0.span_mm;
    if !notes.is_changed() && !show.is_changed() && *last == Some(span_mm) {
        return;
    }
    *last = Some(span_mm);
    for entity in &lines_before {
        commands.entity(entity).despawn();
    }
    let palette = Palette::new(show.dark);
    for kind in [Kind::Overlap, Kind::Dimension, Kind::Touch, Kind::Near] {
        let of_kind = notes.measured.iter().chain(&notes.scene).filter(|note| note.kind == kind);
        let segments: Vec<[Vec3; 2]> =
            of_kind.filter_map(|note| note.line).flat_map(|line| dimension(line, span_mm * TICK)).collect();
        if !segments.is_empty() {
            let handle = gizmos.add(lines(&segments, color(&palette, kind).into()));
            let line_config = GizmoLineConfig { width: 3.0, ..default() };
            commands.spawn((DimensionLines, Gizmo { handle, line_config, depth_bias: -1.0 }));
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

fn place(room: Rect) -> UiTransform {
    UiTransform::from_translation(Val2::px(room.min.x.round(), room.min.y.round()))
}
