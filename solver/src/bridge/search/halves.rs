//! Half chains: everything that can be built from one port up to a bend, by bends and straight parts. A chain of
//! bends is two halves and the run between them, so the halves are worked out once and met in the middle.

use super::meeting::Meeting;
use crate::bridge::{
    closure::Span,
    placed::Laid,
    stock::{Entered, Run, Runs, Socket, Stock, TurnClass, TurnId, narrow},
};
use std::collections::BTreeMap;

/// Most bends in a half: three from the first port and two from the second make five.
pub(super) const MAX_BENDS: usize = 3;

/// Most turning parts in a half: an offset may be among the bends.
const MAX_PARTS: usize = MAX_BENDS + 1;

/// How a half ends: with an offset or a bend, and how many straight parts before it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ending {
    offset: bool,
    straights: usize,
}

/// A chain from a port up to and including a bend or an offset; at most one offset is in it.
///
/// There are many of these, so they hold numbers only: what a class or run is stands in [`Stock`] and [`Runs`].
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Half {
    pub(in crate::bridge) loss: u64,
    /// From corner to corner: port to first bend, first bend to second, and so on.
    pub(in crate::bridge) lengths: [f64; MAX_BENDS],
    /// What there is already of the run after the last bend.
    pub(in crate::bridge) leg: f64,
    /// Half stretches that the tried lengths stand for.
    pub(in crate::bridge) half: f64,
    /// How far the offset steps aside, 0 without one.
    pub(in crate::bridge) step: f64,
    /// The run before each bend or offset: how many parts, which of the runs of that many, and how long.
    runs: [(u8, u32, f32); MAX_PARTS],
    pub(in crate::bridge) turns: [u16; MAX_PARTS],
    pub(in crate::bridge) exit: u16,
    /// Bends and offset together.
    pub(in crate::bridge) count: u8,
    pub(in crate::bridge) bends: u8,
    pub(super) bends_before_step: u8,
    pub(in crate::bridge) swivel: bool,
    /// All parts, straight ones too.
    parts: u8,
    /// Mixed from all that decides where the last corner lies: the same for halves of identical geometry, and for hardly any
    /// others.
    pub(in crate::bridge) trace: u64,
}

impl Half {
    /// The port itself, before any part.
    fn port(socket: Socket) -> Self {
        Self {
            loss: 0,
            lengths: [0.0; MAX_BENDS],
            leg: 0.0,
            half: 0.0,
            step: 0.0,
            runs: [(0, 0, 0.0); MAX_PARTS],
            turns: [0; MAX_PARTS],
            exit: narrow(socket),
            count: 0,
            bends: 0,
            bends_before_step: 0,
            swivel: false,
            parts: 0,
            trace: 0,
        }
    }

    /// Whether the two have identical geometry from the port to the last corner: the same bends at the same distances,
    /// whatever parts make them. What adjustable parts do depends on which they are, so these have to be the same.
    pub(super) fn lies_like(&self, other: &Self, stock: &Stock) -> bool {
        let shape = |turn: &u16| stock.turns[usize::from(*turn)].shape;
        let bits = |half: &Self| (half.lengths.map(f64::to_bits), half.half.to_bits());
        let count = usize::from(self.count);
        self.count == other.count
            && bits(self) == bits(other)
            && self.turns[..count].iter().map(shape).eq(other.turns[..count].iter().map(shape))
            && (self.half == 0.0 || self.turns == other.turns && self.runs == other.runs)
    }

    /// Gives `each` the turning classes in order from the port, and the run before each.
    pub(in crate::bridge) fn spell(
        &self,
        stock: &Stock,
        runs: &Runs<'_>,
        port: Socket,
        mut each: impl FnMut(usize, TurnId, Laid),
    ) {
        let mut exit = port;
        let laid = self.turns.iter().zip(&self.runs).take(usize::from(self.count));
        for (place, (turn, (parts, index, length))) in laid.enumerate() {
            let class = &stock.turns[usize::from(*turn)];
            let parts = usize::from(*parts);
            let run = runs.between(exit, class.entry, parts).runs[*index as usize];
            each(place, usize::from(*turn), Laid { run, parts, length: f64::from(*length) });
            exit = class.exit;
        }
    }

    /// The least core of what it has between its first corner and its last, in millimetres.
    pub(in crate::bridge) fn core_mm(&self, stock: &Stock, runs: &Runs<'_>) -> f64 {
        let count = usize::from(self.count);
        let mut core_mm = f64::INFINITY;
        let mut exit = None;
        for (turn, (parts, ..)) in self.turns.iter().zip(&self.runs).take(count) {
            let class = &stock.turns[usize::from(*turn)];
            core_mm = core_mm.min(class.core_mm);
            // The run before the first bend is another matter: it may touch what carries the seat.
            if let Some(exit) = exit.replace(class.exit).filter(|_| *parts > 0) {
                core_mm = core_mm.min(runs.between(exit, class.entry, usize::from(*parts)).core_mm);
            }
        }
        core_mm
    }

    /// The bends in it, as seen from the port.
    pub(super) fn bent<'s>(&self, stock: &'s Stock) -> impl Iterator<Item = &'s TurnClass> {
        let classes = self.turns.into_iter().take(usize::from(self.count)).map(|turn| &stock.turns[usize::from(turn)]);
        classes.filter(|class| class.turn.is_bend())
    }

    /// Cosine and sine of each bend.
    pub(in crate::bridge) fn angles(&self, stock: &Stock) -> [(f64, f64); MAX_BENDS] {
        let mut angles = [(1.0, 0.0); MAX_BENDS];
        angles.iter_mut().zip(self.bent(stock)).for_each(|(slot, class)| *slot = class.turn.angle());
        angles
    }
}

/// One step of a hash that is the same on every run.
fn mix(state: u64, word: u64) -> u64 {
    // The constant is 2^64 over the golden ratio; the shift brings the well mixed high bits down.
    let mixed = (state.rotate_left(5) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    mixed ^ (mixed >> 32)
}

/// Stems that are held at a time: some 5 MB of them.
pub(super) const MOST_STEMS: usize = 30_000;

/// The halves from one port, by bends, offsets and straight parts.
pub(in crate::bridge) struct Halves<'a> {
    grower: Grower<'a>,
    /// What was worked out so far, by offsets, bends and straight parts.
    table: BTreeMap<(usize, usize, usize), Vec<Half>>,
}

impl<'a> Halves<'a> {
    pub(in crate::bridge) fn new(grower: Grower<'a>) -> Self {
        Self { grower, table: BTreeMap::new() }
    }

    /// Gives `each` what [`Grower::grow`] makes the halves of so many offsets, bends and straight parts from, some at a
    /// time: halves shorter by one turning part, and how they end. There are many times fewer of these than of the halves
    /// themselves, and still too many to hold where a half has several turning parts.
    ///
    /// # Errors
    /// The first that `each` returns.
    pub(super) fn each_stems<E>(
        &mut self,
        offsets: usize,
        bends: usize,
        straights: usize,
        mut each: impl FnMut(&mut [(Half, Ending)]) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut stems = Vec::new();
        let mut grown = Vec::new();
        for before in 0..=straights {
            for (offsets, bends, offset) in shorter(offsets, bends) {
                let ending = Ending { offset, straights: straights - before };
                if offsets + bends + before == 0 {
                    stems.push((self.grower.seed(), ending));
                }
                for (parent, parents) in self.stems(offsets, bends, before) {
                    self.grower.grow(&parent, &parents, &mut grown);
                    stems.extend(grown.drain(..).map(|half| (half, ending)));
                    if stems.len() >= MOST_STEMS {
                        each(&mut stems)?;
                        stems.clear();
                    }
                }
            }
        }
        each(&mut stems)
    }

    /// All stems at once.
    fn stems(&mut self, offsets: usize, bends: usize, straights: usize) -> Vec<(Half, Ending)> {
        let mut stems = Vec::new();
        for before in 0..=straights {
            for (offsets, bends, offset) in shorter(offsets, bends) {
                let ending = Ending { offset, straights: straights - before };
                stems.extend(self.get(offsets, bends, before).iter().map(|half| (*half, ending)));
            }
        }
        stems
    }

    /// Halves of exactly so many offsets, bends and straight parts.
    fn get(&mut self, offsets: usize, bends: usize, straights: usize) -> &[Half] {
        if !self.table.contains_key(&(offsets, bends, straights)) {
            let mut made = Vec::new();
            if offsets + bends + straights == 0 {
                made.push(self.grower.seed());
            }
            for (stem, ending) in self.stems(offsets, bends, straights) {
                self.grower.grow(&stem, &ending, &mut made);
            }
            made.shrink_to_fit();
            self.table.insert((offsets, bends, straights), made);
        }
        self.table.get(&(offsets, bends, straights)).map_or(&[], Vec::as_slice)
    }
}

/// The offsets and bends of what is shorter by one turning part, and whether that part is an offset.
fn shorter(offsets: usize, bends: usize) -> impl Iterator<Item = (usize, usize, bool)> {
    let without_bend = bends.checked_sub(1).map(|bends| (offsets, bends, false));
    let without_offset = offsets.checked_sub(1).map(|offsets| (offsets, bends, true));
    without_bend.into_iter().chain(without_offset)
}

/// Parts that have to follow a first turning part for it to be worth finding out whether it has room: with fewer, there
/// are so few chains of it that closing them takes no longer.
pub(super) const WORTH_ASKING: usize = 3;

/// Lengthens halves from one port.
#[derive(Clone, Copy)]
pub(super) struct Grower<'a> {
    pub(super) meeting: &'a Meeting<'a>,
    /// The first or the second.
    pub(in crate::bridge) port: usize,
    /// What the whole chain is made of.
    pub(in crate::bridge) bends: usize,
    pub(in crate::bridge) offsets: usize,
    pub(in crate::bridge) straights: usize,
}

impl Grower<'_> {
    fn seed(&self) -> Half {
        Half::port([self.meeting.stock.from, self.meeting.stock.to][self.port])
    }

    /// Takes stems off `rest` until they have grown to about `most` halves, and gives those.
    pub(in crate::bridge) fn some(&self, rest: &mut &[(Half, Ending)], most: usize) -> Vec<Half> {
        let mut made = Vec::new();
        while let [(stem, ending), others @ ..] = *rest {
            self.grow(stem, ending, &mut made);
            *rest = others;
            if made.len() >= most {
                break;
            }
        }
        made
    }

    /// Adds the last run and turning part to a half in every way.
    pub(in crate::bridge) fn grow(&self, half: &Half, ending: &Ending, made: &mut Vec<Half>) {
        let stock = self.meeting.stock;
        if ending.offset {
            self.add(half, ending.straights, &stock.offsets, made, |next, class, length| {
                let (ahead, aside) = class.offset.unwrap_or_default();
                next.leg = half.leg + length + ahead;
                next.step = aside;
                next.bends_before_step = half.bends;
            });
        } else {
            self.add(half, ending.straights, &stock.bends, made, |next, class, length| {
                let (leg_in, leg_out) = class.turn.legs();
                next.lengths[usize::from(half.bends)] = half.leg + length + leg_in;
                next.bends += 1;
                next.leg = leg_out;
            });
        }
    }

    /// Whether what is left of the chain can reach the other port from a half.
    fn comes_near(&self, half: &Half) -> bool {
        let stock = self.meeting.stock;
        let straights = self.straights + usize::from(half.count) - usize::from(half.parts);
        let bends = self.bends - usize::from(half.bends);
        let offsets = self.offsets - usize::from(half.count - half.bends);
        let rest_mm = stock.reach_of(straights, bends, offsets);
        let circle = match half.bends {
            0 => [0.0, 0.0],
            1 => [half.lengths[0], 0.0],
            _ => {
                let (cos, sin) = half.bent(stock).next().map_or((1.0, 0.0), |class| class.turn.angle());
                [half.lengths[0] + half.lengths[1] * cos, half.lengths[1] * sin]
            }
        };
        // Nothing is said of how the third run lies.
        let away = half.lengths[2] + half.leg + half.step + half.half;
        if !self.meeting.comes_near(self.port, circle, away, rest_mm) {
            return false;
        }
        if bends == 0 || offsets > 0 {
            return true;
        }
        // The last corner lies on the other port's axis, as far ahead as a leg and straight parts can take it.
        let straights_mm = stock.reach_of(straights, 0, 0);
        let corner = Span { shortest: stock.leg_mm.shortest, longest: stock.leg_mm.longest + straights_mm };
        let before_mm = stock.reach_of(straights, bends - 1, 0) + stock.leg_mm.longest;
        self.meeting.comes_near_axis(self.port, circle, away + before_mm, corner)
    }

    fn add(
        &self,
        half: &Half,
        parts: usize,
        classes: &Entered,
        made: &mut Vec<Half>,
        place: impl Fn(&mut Half, &TurnClass, f64),
    ) {
        let runs = self.meeting.runs;
        for (entry, ids) in classes {
            let list = runs.between(usize::from(half.exit), *entry, parts);
            let open = if half.count == 0 { self.meeting.doorways.open_runs(self.port, list) } else { list.runs.len() };
            if open > 0 {
                ids.iter().for_each(|id| self.add_class(half, parts, *id, &list.runs[..open], made, &place));
            }
        }
    }

    /// Adds each of `list`, runs of `parts` parts, and then one turning part.
    fn add_class(
        &self,
        half: &Half,
        parts: usize,
        id: TurnId,
        list: &[Run],
        made: &mut Vec<Half>,
        place: &impl Fn(&mut Half, &TurnClass, f64),
    ) {
        let meeting = self.meeting;
        let class = &meeting.stock.turns[id];
        let whole = self.bends + self.offsets + self.straights;
        let rest = whole.saturating_sub(usize::from(half.parts) + parts + 1);
        for (index, run) in list.iter().enumerate() {
            let loss = half.loss + run.loss + class.loss;
            // A thread alone stops wherever its ring seats: without a swivel in the run nothing can be aimed.
            if !meeting.may_want(loss, rest) || !(half.swivel || run.swivel || class.entry_swivel) {
                continue;
            }
            if half.count == 0 && rest >= WORTH_ASKING && meeting.doorways.bars(self.port, id, run.span) {
                continue;
            }
            for (length, stretch) in run.tries() {
                let mut next = *half;
                place(&mut next, class, length);
                next.turns[usize::from(half.count)] = narrow(id);
                #[expect(
                    clippy::cast_possible_truncation,
                    reason = "parts are at most MOST_PARTS, runs far below 2^32, and a tried length need not be exact"
                )]
                let which = (parts as u8, index as u32, length as f32);
                next.runs[usize::from(half.count)] = which;
                next.count += 1;
                next.half += stretch;
                next.parts += which.0 + 1;
                if !self.comes_near(&next) {
                    continue;
                }
                next.exit = narrow(class.exit);
                next.swivel = class.exit_swivel;
                next.loss = loss;
                // An offset's share of the run it stands in is in the leg that follows.
                let corner = if next.bends > half.bends { next.lengths[usize::from(half.bends)] } else { 0.0 };
                next.trace = mix(mix(half.trace, corner.to_bits()), u64::from(class.shape));
                if stretch > 0.0 {
                    next.trace = mix(next.trace, u64::from(which.1) << 16 | u64::from(narrow(id)));
                }
                made.push(next);
            }
        }
    }
}
