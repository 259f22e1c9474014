//! Where labels stand on screen: on what they name where that is seen, never over the chain that is looked at nor over each
//! other, and otherwise aside with a leader line.

use super::{eye::Eye, lettering::LETTER_PX};
use crate::scene::{
    Item,
    notes::{Kind, Note},
};
use bevy::math::{Rect, Vec2, Vec3};
use std::collections::HashMap;
use std::time::{Duration, Instant};

/// Where a label stands, in pixels from the picture's top left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Its room.
    pub room: Rect,
    /// From what it is about to its room, where it stands aside.
    pub leader: Option<[Vec2; 2]>,
}

/// The picture that labels are written on.
pub struct Page<'a> {
    /// From where the scene is seen.
    pub eye: &'a Eye,
    /// Width and height in pixels.
    pub size: Vec2,
    /// Places along the chain, which no label may cover.
    pub chain: Vec<Vec3>,
    /// Whether a place of a thing is seen; `None` while the eye moves, when that would take too long.
    pub seen: Option<Box<dyn Fn(Item, Vec3) -> bool + 'a>>,
}

/// Where names stand: places in the scene, `None` where there is no room for a name.
#[derive(Default)]
pub struct Spots {
    found: HashMap<Item, Option<Spot>>,
    /// Whether they are those of another scene or another eye.
    pub stale: bool,
    /// How many notes are through with looking.
    looked: usize,
}

/// A place that is named, and the way from there to the middle of the name, in pixels: none on the thing itself.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Spot {
    at: Vec3,
    aside: Vec2,
}

/// How far aside labels stand that find no room on what they are about, in pixels, the nearest first, and in how many
/// directions.
const ASIDE_PX: [f32; 6] = [30.0, 46.0, 66.0, 90.0, 120.0, 160.0];
const DIRECTIONS: u16 = 16;
/// Half the width of the band along the chain that is kept free: about the radius of a fitting, and in pixels at least.
const CHAIN_MM: f32 = 8.0;
const CHAIN_PX: f32 = 6.0;

impl Spots {
    /// The scene or the eye is another one: all names look for better places.
    pub fn start_again(&mut self) {
        (self.stale, self.looked) = (true, 0);
    }
}

impl Page<'_> {
    /// Where a place is in the picture; `None` behind the eye.
    fn on_picture(&self, at: Vec3) -> Option<Vec2> {
        self.eye.on_screen(at).map(|place| self.size / 2.0 + Vec2::new(place.x, -place.y) * self.size.y)
    }

    fn whole(&self) -> Rect {
        Rect { min: Vec2::ZERO, max: self.size }
    }

    /// What of the picture the chain takes.
    fn chain(&self) -> Vec<Rect> {
        let half = Vec2::splat((CHAIN_MM * self.size.y / self.eye.span_mm).max(CHAIN_PX));
        let places = self.chain.iter().filter_map(|at| self.on_picture(*at));
        places.map(|at| Rect { min: at - half, max: at + half }).collect()
    }
}

/// The room of each note, most urgent first, `None` for one that finds none. Looking for places where a thing is seen
/// takes longer than a frame may in a crowd, so names keep their places while the eye moves, and look for better ones
/// over as many frames as it takes once it stands still.
pub fn rooms(all: &[&Note], page: &Page<'_>, spots: &mut Spots, patience: Option<Duration>) -> Vec<Option<Placed>> {
    let started = Instant::now();
    let chain = page.chain();
    let mut taken: Vec<Rect> = Vec::new();
    let mut rooms = Vec::with_capacity(all.len());
    for (index, note) in all.iter().enumerate() {
        let free = |room: &Rect| taken.iter().all(|other| other.intersect(*room).is_empty());
        let clear = |room: &Rect| free(room) && chain.iter().all(|part| part.intersect(*room).is_empty());
        let placed = |spot: Spot| {
            let from = page.on_picture(spot.at)?;
            let room = room(from + spot.aside, &note.text);
            let leader = (spot.aside != Vec2::ZERO).then(|| [from, from.clamp(room.min, room.max)]);
            Some(Placed { room, leader })
        };
        // Aside, with a line that crosses no other label.
        let aside = |at: Vec3| {
            let tried = around().map(|aside| Spot { at, aside });
            let mut tried = tried.filter_map(|spot| Some((spot, placed(spot)?)));
            tried.find(|(_, Placed { room, leader })| {
                let inside = page.whole().contains(room.min) && page.whole().contains(room.max);
                inside && clear(room) && leader.is_none_or(|leader| taken.iter().all(|other| !crosses(leader, *other)))
            })
        };
        let found = match &note.named {
            Some((item, choice)) => {
                let in_time = patience.is_none_or(|patience| started.elapsed() < patience);
                match &page.seen {
                    Some(seen) if in_time && index == spots.looked => {
                        spots.looked += 1;
                        let on_it = |at: &Vec3| {
                            let spot = Spot { at: *at, aside: Vec2::ZERO };
                            let found = placed(spot).filter(|found| clear(&found.room))?;
                            seen(*item, *at).then_some((spot, found))
                        };
                        let beside = || choice.iter().find(|at| seen(*item, **at)).and_then(|at| aside(*at));
                        let found = choice.iter().find_map(on_it);
                        let found = if note.kind == Kind::End { found.or_else(beside) } else { found };
                        spots.found.insert(*item, found.map(|(spot, _)| spot));
                        found.map(|(_, found)| found)
                    }
                    _ => spots.found.get(item).copied().flatten().and_then(placed).filter(|found| clear(&found.room)),
                }
            }
            None => {
                spots.looked += usize::from(page.seen.is_some() && index == spots.looked);
                // Over a line, or under it where something else is written.
                let lifts: &[f32] = if note.line.is_some() { &[-1.6, 1.6, -3.2, 3.2] } else { &[0.0] };
                let lifted = |fits: &dyn Fn(&Rect) -> bool| {
                    let place = page.on_picture(note.at)?;
                    let tried = lifts.iter().map(|lift| room(place + Vec2::Y * *lift * LETTER_PX, &note.text));
                    let room = tried.into_iter().find(|room| fits(room))?;
                    Some(Placed { room, leader: None })
                };
                let beside = || aside(note.at).map(|(_, found)| found);
                lifted(&clear).or_else(beside).or_else(|| lifted(&free))
            }
        };
        taken.extend(found.map(|found| found.room));
        rooms.push(found);
    }
    spots.stale &= page.seen.is_none() || spots.looked < all.len();
    rooms
}

/// Ways aside, the shortest first, and upwards before downwards.
fn around() -> impl Iterator<Item = Vec2> {
    let ways = (0..DIRECTIONS).map(|step| {
        // To the right and to the left by turns, from upwards on.
        let half = f32::from(step.div_ceil(2)) * if step % 2 == 1 { 1.0 } else { -1.0 };
        let (sin, cos) = (half * std::f32::consts::TAU / f32::from(DIRECTIONS)).sin_cos();
        // Labels are wider than high.
        Vec2::new(sin * 1.6, -cos)
    });
    let ways: Vec<Vec2> = ways.collect();
    ASIDE_PX.into_iter().flat_map(move |far| ways.clone().into_iter().map(move |way| way * far))
}

/// A label's room on screen, in pixels.
pub(super) fn room(at: Vec2, text: &str) -> Rect {
    // The default letters are about 0.55 as wide as high.
    let half = Vec2::new(text.chars().count() as f32 * LETTER_PX * 0.29 + 5.0, LETTER_PX * 0.75);
    Rect { min: at - half, max: at + half }
}

/// Whether a line goes through a rectangle, by places along it that are nearer to each other than labels are high.
fn crosses([from, to]: [Vec2; 2], over: Rect) -> bool {
    let steps = (from.distance(to) / (LETTER_PX * 0.5)).ceil().max(1.0);
    (0..=steps as usize).any(|step| over.contains(from.lerp(to, step as f32 / steps)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page<'a>(eye: &'a Eye, chain: Vec<Vec3>) -> Page<'a> {
        Page { eye, size: Vec2::new(600.0, 400.0), chain, seen: Some(Box::new(|_, _| true)) }
    }

    fn named(item: Item, kind: Kind, at: Vec3) -> Note {
        Note { kind, at, text: "reservoir".to_owned(), line: None, named: Some((item, vec![at])) }
    }

    #[test]
    fn no_label_covers_the_chain_and_what_stands_aside_has_a_leader() {
        let eye = Eye { heading: 0.0, elevation: 0.0, span_mm: 400.0, ..Eye::default() };
        let chain: Vec<Vec3> = (-5..=5).map(|step| Vec3::X * step as f32 * 8.0).collect();
        let line = Some([Vec3::new(-5.0, 0.0, 0.0), Vec3::new(5.0, 0.0, 0.0)]);
        let dimension =
            Note { kind: Kind::Dimension, at: Vec3::ZERO, text: "6.0 mm to pump".to_owned(), line, named: None };
        let on_chain = named(Item::Body(1), Kind::End, Vec3::X * 20.0);
        let far = named(Item::Body(2), Kind::Name, Vec3::Z * 120.0);
        let covered = named(Item::Body(3), Kind::Name, Vec3::ZERO);
        let page = page(&eye, chain);
        let found = rooms(&[&dimension, &on_chain, &far, &covered], &page, &mut Spots::default(), None);
        for found in found.iter().flatten() {
            assert!(page.chain().iter().all(|part| part.intersect(found.room).is_empty()), "{found:?}");
        }
        let [Some(dimension), Some(end), Some(far), None] = found[..] else { panic!("{found:?}") };
        assert!(dimension.room.intersect(end.room).is_empty() && far.leader.is_none());
        let [from, to] = end.leader.expect("it stands aside");
        assert!(from.distance(page.on_picture(Vec3::X * 20.0).expect("seen")) < 1e-3 && !end.room.contains(from));
        assert!(end.room.inflate(0.01).contains(to), "the line ends at its label");
    }

    #[test]
    fn names_keep_their_places_while_the_eye_moves() {
        let mut eye = Eye { heading: 0.0, elevation: 0.0, span_mm: 400.0, ..Eye::default() };
        let chain = vec![Vec3::ZERO];
        let note = named(Item::Body(1), Kind::End, Vec3::ZERO);
        let mut spots = Spots::default();
        spots.start_again();
        let before = rooms(&[&note], &page(&eye, chain.clone()), &mut spots, None);
        assert!(!spots.stale);
        eye.pan(Vec2::new(0.05, 0.0));
        spots.start_again();
        let moving = Page { seen: None, ..page(&eye, chain) };
        let after = rooms(&[&note], &moving, &mut spots, None);
        let [Some(before), Some(after)] = [before[0], after[0]] else { panic!("{before:?} {after:?}") };
        assert!((after.room.min - before.room.min - Vec2::X * 0.05 * 400.0).length() < 1e-2);
        assert!(spots.stale, "it looks for a better one once the eye stands still");
    }
}
