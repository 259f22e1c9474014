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
use std::time::{Duration, Instant};

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

/// The lines of dimensions.
#[derive(Component)]
struct DimensionLines;

/// Where names stand: places in the scene, `None` where there is no room for a name.
#[derive(Default)]
struct Spots {
    found: HashMap<Item, Option<Vec3>>,
    /// Whether they are those of another scene or another eye.
    stale: bool,
    /// How many notes are through with looking.
    looked: usize,
}

/// Height of the letters, in pixels.
const LETTER_PX: f32 = 12.0;
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

/// A label's room on screen, in pixels.
fn room(at: Vec2, text: &str) -> Rect {
    // The default letters are about 0.55 as wide as high.
    let half = Vec2::new(text.chars().count() as f32 * LETTER_PX * 0.29 + 5.0, LETTER_PX * 0.75);
    Rect { min: at - half, max: at + half }
}

fn color(palette: &Palette, kind: Kind) -> Color {
    match kind {
        Kind::Overlap | Kind::Touch => palette.alarm,
        Kind::Dimension | Kind::Near => palette.measure,
        Kind::End | Kind::Name => palette.ink,
    }
    .into()
}

fn write(
    (mut commands, mut redraw): (Commands, MessageWriter<RequestRedraw>),
    (notes, show, patience): (Res<Notes>, Res<Show>, Res<Patience>),
    (watch, troupe): (Res<Watch>, Res<Troupe>),
    (mut spots, mut last_size): (Local<Spots>, Local<Vec2>),
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
    let rooms = rooms(&all, &watch, &troupe, &show, size, changed, &mut spots, patience.0);
    if spots.stale {
        redraw.write(RequestRedraw);
    }
    // A label is made once and then moved or hidden, since laying letters out takes longer than all the rest.
    let mut by_words: HashMap<(Kind, &str), Vec<Option<Rect>>> = HashMap::new();
    for (note, room) in all.iter().zip(rooms).rev() {
        by_words.entry((note.kind, &note.text)).or_default().push(room);
    }
    let palette = Palette::new(show.dark);
    let paper = Color::from(palette.paper.with_alpha(0.8));
    for (entity, label, mut transform, mut visibility, mut letters, mut ground) in &mut labels {
        let Some(room) = by_words.get_mut(&(label.kind, label.text.as_str())).and_then(Vec::pop) else {
            commands.entity(entity).despawn();
            continue;
        };
        visibility.set_if_neq(if room.is_some() { Visibility::Inherited } else { Visibility::Hidden });
        if let Some(room) = room {
            transform.set_if_neq(place(room));
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
                place(room),
                Pickable::IGNORE,
            ));
        }
    }
}

/// The room of each note, most urgent first, `None` for one that finds none. Looking for places where a thing is seen
/// takes longer than a frame may in a crowd, so names keep their places while the eye moves, and look for better ones
/// over as many frames as it takes once it stands still.
#[expect(clippy::too_many_arguments, reason = "each is a thing that rooms depend on")]
fn rooms(
    all: &[&Note],
    watch: &Res<Watch>,
    troupe: &Troupe,
    show: &Show,
    size: Vec2,
    changed: bool,
    spots: &mut Spots,
    patience: Option<Duration>,
) -> Vec<Option<Rect>> {
    let eye = &watch.0;
    let on_picture = |place: Vec2| size / 2.0 + Vec2::new(place.x, -place.y) * size.y;
    if changed {
        (spots.stale, spots.looked) = (true, 0);
    }
    let look = spots.stale && !watch.is_changed();
    let started = Instant::now();
    let reach = troupe.bounds().map_or(1_000.0, |[low, high]| low.distance(high) + eye.target.distance(low));
    let cut = show.section.map(|section| section.cut());
    let actors = if look { troupe.actors() } else { Vec::new() };
    // Where something is seen of a thing that is named.
    let seen = |item: Item, at: Vec3| {
        let place = eye.on_screen(at)?;
        let hit = pick(actors.iter().copied(), &ray(eye, place, reach), cut.as_ref());
        hit.is_some_and(|hit| hit.item == item).then_some(place)
    };
    let mut taken: Vec<Rect> = Vec::new();
    let mut rooms = Vec::with_capacity(all.len());
    for (index, note) in all.iter().enumerate() {
        let free = |room: &Rect| taken.iter().all(|other| other.intersect(*room).is_empty());
        let in_time = look && patience.is_none_or(|patience| started.elapsed() < patience);
        let found = match &note.named {
            Some((item, choice)) => {
                let fitted = |place: Vec2| Some(room(on_picture(place), &note.text)).filter(free);
                if in_time && index == spots.looked {
                    spots.looked += 1;
                    let found = choice.iter().find_map(|spot| Some((*spot, fitted(seen(*item, *spot)?)?)));
                    spots.found.insert(*item, found.map(|(spot, _)| spot));
                    found.map(|(_, room)| room)
                } else {
                    spots.found.get(item).copied().flatten().and_then(|spot| fitted(eye.on_screen(spot)?))
                }
            }
            None => {
                spots.looked += usize::from(look && index == spots.looked);
                eye.on_screen(note.at).and_then(|place| {
                    // Over a line, or under it where something else is written.
                    let lifts: &[f32] = if note.line.is_some() { &[-1.6, 1.6, -3.2, 3.2] } else { &[0.0] };
                    let mut tried =
                        lifts.iter().map(|lift| room(on_picture(place) + Vec2::Y * *lift * LETTER_PX, &note.text));
                    tried.find(|room| free(room))
                })
            }
        };
        taken.extend(found);
        rooms.push(found);
    }
    spots.stale &= !look || spots.looked < all.len();
    rooms
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
