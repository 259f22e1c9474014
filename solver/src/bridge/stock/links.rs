//! What the catalog offers for one gap, reduced to what the search needs: ends that mate, straight links, turning
//! links, and links that are the same for every question but their name.

use super::thickness::{core_mm, tube_mm};
use crate::{
    bridge::closure::{Span, Turn, grains},
    catalog::{EndDef, FittingDef, Gender},
    geometry::face_to_face,
    layout::Port,
};
use std::collections::BTreeMap;

/// One way of building a fitting in: the catalog index times two, plus one when it is entered by its end 1. A fitting
/// that is the same either way round has only the first.
pub(in crate::bridge) type LinkId = u32;

/// A class of ends that mate with the same ends and the same ports.
pub(in crate::bridge) type Socket = usize;

/// A class of turning links that only differ in name.
pub(in crate::bridge) type TurnId = usize;

/// A straight link.
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Straight {
    pub(in crate::bridge) link: LinkId,
    pub(in crate::bridge) entry: Socket,
    pub(in crate::bridge) exit: Socket,
    pub(in crate::bridge) swivel: bool,
    pub(in crate::bridge) span: Span,
    pub(in crate::bridge) loss: u64,
    /// See [`core_mm`].
    pub(in crate::bridge) core_mm: f64,
    /// See [`tube_mm`].
    pub(in crate::bridge) tube_mm: f64,
}

/// A class as the many halves of chains hold it.
pub(in crate::bridge) fn narrow(class: usize) -> u16 {
    // Classes are at most twice the parts of a catalog, and the loader takes at most 10,000 of those.
    u16::try_from(class).unwrap_or(u16::MAX)
}

/// Turning links with the same geometry, ends and loss.
#[derive(Clone, Debug)]
pub(in crate::bridge) struct TurnClass {
    pub(in crate::bridge) turn: Turn,
    /// How far the centreline turns in it, in radians.
    pub(in crate::bridge) angle: f64,
    /// Length and step aside, if it is an offset.
    pub(in crate::bridge) offset: Option<(f64, f64)>,
    pub(in crate::bridge) entry: Socket,
    pub(in crate::bridge) exit: Socket,
    pub(in crate::bridge) entry_swivel: bool,
    pub(in crate::bridge) exit_swivel: bool,
    pub(in crate::bridge) loss: u64,
    /// Members, in catalog order.
    pub(in crate::bridge) links: Vec<LinkId>,
    /// The class of the same links built in the other way round.
    pub(in crate::bridge) reverse: TurnId,
    /// The same number for classes that turn the centreline alike, whatever their legs, ends and losses.
    pub(in crate::bridge) shape: u16,
    /// The least [`core_mm`] of the members.
    pub(in crate::bridge) core_mm: f64,
}

/// Turning classes by the class of the end that they are entered by: what leads to the one leads to all of them.
pub(in crate::bridge) type Entered = Vec<(Socket, Vec<TurnId>)>;

/// The links and how they mate, for one pair of ports.
#[derive(Clone, Debug)]
pub(in crate::bridge) struct Stock {
    pub(in crate::bridge) straights: Vec<Straight>,
    pub(in crate::bridge) turns: Vec<TurnClass>,
    /// `mates[a][b]`: whether an end of class `a` screws onto one of class `b`. Symmetric.
    pub(in crate::bridge) mates: Vec<Vec<bool>>,
    /// The class of the first port.
    pub(in crate::bridge) from: Socket,
    /// The class of the second port.
    pub(in crate::bridge) to: Socket,
    /// Least and greatest length of a straight link; none at all without any.
    straight_mm: Span,
    /// Least and greatest length of a bend's leg, likewise.
    pub(in crate::bridge) leg_mm: Span,
    /// How far a bend, an offset, and any other turning link can reach.
    bend_mm: f64,
    offset_mm: f64,
    other_mm: f64,
    /// Greatest loss of any one link.
    pub(in crate::bridge) lossiest: u64,
    /// Every turning class, by the class of the end that it is entered by.
    pub(in crate::bridge) all: Entered,
    /// Those of them that are bends, offsets, and not bends.
    pub(in crate::bridge) bends: Entered,
    pub(in crate::bridge) offsets: Entered,
    pub(in crate::bridge) odd: Entered,
    pub(in crate::bridge) has_offsets: bool,
    /// Whether any link is neither straight nor a bend nor an offset.
    pub(in crate::bridge) has_others: bool,
    /// `(entry, exit, loss)` of every link, for counting sequences.
    pub(super) passages: Vec<(Socket, Socket, u64)>,
}

impl Stock {
    /// Sorts the links among `fittings` into classes for a gap between two ports. `loss` gives a link's loss in
    /// whole micropascals, so that sums do not depend on their order.
    pub(in crate::bridge) fn new(
        fittings: &[FittingDef],
        ports: [&Port; 2],
        loss: impl Fn(&FittingDef) -> u64,
    ) -> Self {
        let sockets = Sockets::new(fittings, ports);
        let mut straights = Vec::new();
        let mut passages = Vec::new();
        let mut classes = BTreeMap::new();
        let mut turns: Vec<TurnClass> = Vec::new();
        for (index, fitting) in fittings.iter().enumerate().filter(|(_, fitting)| fitting.is_link()) {
            let (loss, core) = (loss(fitting), core_mm(fitting));
            let ways = if fitting.is_symmetric() { 1 } else { 2 };
            for way in 0..ways {
                #[expect(clippy::cast_possible_truncation, reason = "catalogs hold far fewer than 2^31 parts")]
                let link = (index * 2 + way) as LinkId;
                let (first, last) = (&fitting.ends[way], &fitting.ends[1 - way]);
                let (entry, exit) = (sockets.class(first), sockets.class(last));
                passages.push((entry, exit, loss));
                match Turn::of(fitting, way) {
                    None => {
                        let shortest: f64 = fitting.legs.iter().sum();
                        let longest = shortest + fitting.stretch_mm.unwrap_or(0.0);
                        let span = Span { shortest, longest };
                        let swivel = first.swivel || last.swivel;
                        let tube_mm = tube_mm(fitting);
                        straights.push(Straight { link, entry, exit, swivel, span, loss, core_mm: core, tube_mm });
                    }
                    Some(turn) => {
                        let key = (turn.key(), entry, exit, first.swivel, last.swivel, loss);
                        let class = *classes.entry(key).or_insert(turns.len());
                        if class == turns.len() {
                            turns.push(TurnClass {
                                turn,
                                angle: turn.cos().clamp(-1.0, 1.0).acos(),
                                offset: turn.offset(),
                                entry,
                                exit,
                                entry_swivel: first.swivel,
                                exit_swivel: last.swivel,
                                loss,
                                links: Vec::new(),
                                reverse: class,
                                shape: 0,
                                core_mm: core,
                            });
                        }
                        turns[class].links.push(link);
                        turns[class].core_mm = turns[class].core_mm.min(core);
                    }
                }
            }
        }
        let class_of: BTreeMap<LinkId, TurnId> = turns
            .iter()
            .enumerate()
            .flat_map(|(class, turn)| turn.links.iter().map(move |link| (*link, class)))
            .collect();
        for (id, class) in turns.iter_mut().enumerate() {
            // A symmetric link is its own reverse.
            class.reverse = class_of.get(&(class.links[0] ^ 1)).copied().unwrap_or(id);
        }
        let mut shapes = BTreeMap::new();
        for class in &mut turns {
            let count = narrow(shapes.len());
            class.shape = *shapes.entry(class.turn.shape()).or_insert(count);
        }
        let lengths = straights.iter().map(|straight: &Straight| straight.span);
        let entered = |of: &dyn Fn(&TurnClass) -> bool| {
            let mut by_entry: BTreeMap<Socket, Vec<TurnId>> = BTreeMap::new();
            for (id, class) in turns.iter().enumerate().filter(|(_, class)| of(class)) {
                by_entry.entry(class.entry).or_default().push(id);
            }
            by_entry.into_iter().collect()
        };
        // Both ways round are among the classes, so that the legs before the corner are all there are.
        let bends = turns.iter().filter(|class| class.turn.is_bend());
        let legs = bends.map(|class| class.turn.legs().0).map(|leg| Span { shortest: leg, longest: leg });
        let farthest = |of: &dyn Fn(&TurnClass) -> bool| {
            turns.iter().filter(|class| of(class)).map(|class| class.turn.reach()).fold(0.0, f64::max)
        };
        Self {
            lossiest: passages.iter().map(|(.., loss)| *loss).max().unwrap_or(0),
            straight_mm: lengths.reduce(Span::around).unwrap_or_default(),
            leg_mm: legs.reduce(Span::around).unwrap_or_default(),
            bend_mm: farthest(&|class| class.turn.is_bend()),
            offset_mm: farthest(&|class| class.offset.is_some()),
            other_mm: farthest(&|class| class.offset.is_none() && !class.turn.is_bend()),
            all: entered(&|_| true),
            bends: entered(&|class| class.turn.is_bend()),
            offsets: entered(&|class| class.offset.is_some()),
            odd: entered(&|class| !class.turn.is_bend()),
            has_offsets: turns.iter().any(|class| class.offset.is_some()),
            has_others: turns.iter().any(|class| class.offset.is_none() && !class.turn.is_bend()),
            straights,
            turns,
            mates: sockets.mates,
            from: sockets.count - 2,
            to: sockets.count - 1,
            passages,
        }
    }

    /// How far any one link can reach.
    pub(in crate::bridge) fn longest_mm(&self) -> f64 {
        self.straight_mm.longest.max(self.bend_mm).max(self.offset_mm).max(self.other_mm)
    }

    /// How far so many straight links, bends and offsets can reach together.
    pub(in crate::bridge) fn reach_of(&self, straights: usize, bends: usize, offsets: usize) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "at most MOST_PARTS of each")]
        let of = |each: f64, count: usize| if count == 0 { 0.0 } else { each * count as f64 };
        of(self.straight_mm.longest, straights) + of(self.bend_mm, bends) + of(self.offset_mm, offsets)
    }

    /// Lengths between which every run of so many straight parts lies.
    pub(in crate::bridge) fn run_lengths(&self, parts: usize) -> Span {
        let Span { shortest, longest } = self.straight_mm;
        #[expect(clippy::cast_precision_loss, reason = "at most MOST_PARTS")]
        let parts = parts as f64;
        Span { shortest: shortest * parts, longest: longest * parts }
    }

    /// Whether any link can be screwed into each of the two ports.
    pub(in crate::bridge) fn enters(&self) -> [bool; 2] {
        [self.from, self.to].map(|port| self.passages.iter().any(|(entry, ..)| self.mates[port][*entry]))
    }
}

impl Turn {
    /// How the centreline runs through a fitting entered by end `way`; `None` when it is straight.
    pub(in crate::bridge) fn of(fitting: &FittingDef, way: usize) -> Option<Self> {
        if fitting.bends.is_empty() {
            return None;
        }
        if let ([bend], [first, last], None) = (&fitting.bends[..], &fitting.legs[..], fitting.stretch_mm) {
            let [leg_in, leg_out] = if way == 0 { [*first, *last] } else { [*last, *first] };
            return Some(Self::bend(leg_in, bend.angle_deg.to_radians(), leg_out));
        }
        let through = fitting.end_frames(0.0)[1];
        let pose = if way == 0 { through } else { face_to_face().inverse() * through.inverse() * face_to_face() };
        // The stretch lengthens leg 0, which lies at the entry or, the other way round, at the exit.
        Some(Self::rigid(pose, fitting.stretch_mm.unwrap_or(0.0), way == 1))
    }
}

/// Ends grouped by what they mate with.
struct Sockets {
    ends: BTreeMap<EndKey, Socket>,
    mates: Vec<Vec<bool>>,
    count: usize,
}

type EndKey = (crate::catalog::Thread, Gender, i64, i64);

fn end_key(end: &EndDef) -> EndKey {
    (end.thread, end.gender, grains(end.thread_length_mm), grains(end.collar_mm))
}

impl Sockets {
    /// The last two classes are the ports themselves.
    fn new(fittings: &[FittingDef], ports: [&Port; 2]) -> Self {
        let distinct: BTreeMap<EndKey, &EndDef> =
            fittings.iter().filter(|f| f.is_link()).flat_map(|f| &f.ends).map(|end| (end_key(end), end)).collect();
        let signature = |end: &EndDef| {
            let among: Vec<bool> = distinct.values().map(|other| ends_mate(end, other)).collect();
            (among, ports.map(|port| port_takes(port, end)))
        };
        let mut classes = BTreeMap::new();
        let mut samples = Vec::new();
        let mut ends = BTreeMap::new();
        for (key, end) in &distinct {
            let class = *classes.entry(signature(end)).or_insert(samples.len());
            if class == samples.len() {
                samples.push(*end);
            }
            ends.insert(*key, class);
        }
        let count = samples.len() + 2;
        let mut mates = vec![vec![false; count]; count];
        for (i, a) in samples.iter().enumerate() {
            for (j, b) in samples.iter().enumerate() {
                mates[i][j] = ends_mate(a, b);
            }
            for (k, port) in ports.iter().enumerate() {
                let takes = port_takes(port, a);
                mates[i][samples.len() + k] = takes;
                mates[samples.len() + k][i] = takes;
            }
        }
        Self { ends, mates, count }
    }

    fn class(&self, end: &EndDef) -> Socket {
        self.ends[&end_key(end)]
    }
}

/// Room for the rounding of decimal fractions when lengths are compared, in millimetres.
const ROUNDING_MM: f64 = 1e-9;

/// Whether two ends screw together without bottoming out.
fn ends_mate(a: &EndDef, b: &EndDef) -> bool {
    let (male, female) = match (a.gender, b.gender) {
        (Gender::Male, Gender::Female) => (a, b),
        (Gender::Female, Gender::Male) => (b, a),
        _ => return false,
    };
    a.thread == b.thread && male.thread_length_mm <= female.thread_length_mm + ROUNDING_MM
}

/// Whether an end screws into a port without bottoming out and seats on its clear face.
fn port_takes(port: &Port, end: &EndDef) -> bool {
    let as_end = EndDef {
        thread: port.thread,
        gender: port.gender,
        thread_length_mm: port.thread_length_mm,
        swivel: false,
        collar_mm: port.seat_mm,
    };
    ends_mate(&as_end, end) && end.collar_mm <= port.seat_mm + ROUNDING_MM
}

/// Reasons, visible without a search, why no link enters a port.
pub(in crate::bridge) fn why_nothing_enters(fittings: &[FittingDef], port: &Port) -> Option<String> {
    let ends: Vec<&EndDef> = fittings.iter().filter(|f| f.is_link()).flat_map(|f| &f.ends).collect();
    if ends.iter().any(|end| port_takes(port, end)) {
        return None;
    }
    let wanted = port.gender.opposite();
    let fitting_thread: Vec<&&EndDef> =
        ends.iter().filter(|end| end.thread == port.thread && end.gender == wanted).collect();
    let narrowest = fitting_thread.iter().map(|end| end.collar_mm).fold(f64::INFINITY, f64::min);
    let name = &port.name;
    Some(if fitting_thread.is_empty() {
        format!("{name}: the catalog has no {wanted} {} end", port.thread)
    } else if narrowest > port.seat_mm + ROUNDING_MM {
        format!(
            "{name}: its clear seat is {:.1} mm wide, and the narrowest {wanted} {} collar is {narrowest:.1} mm",
            port.seat_mm, port.thread
        )
    } else {
        let lengths = fitting_thread
            .iter()
            .filter(|end| end.collar_mm <= port.seat_mm + ROUNDING_MM)
            .map(|end| end.thread_length_mm);
        let (own, thread) = (port.thread_length_mm, port.thread);
        if wanted == Gender::Male {
            let shortest = lengths.fold(f64::INFINITY, f64::min);
            format!(
                "{name}: every {wanted} {thread} end that fits its seat bottoms out before it seals: the port is {own:.1} mm \
                 deep, and the shortest of their threads is {shortest:.1} mm long"
            )
        } else {
            let deepest = lengths.fold(0.0, f64::max);
            format!(
                "{name}: its thread bottoms out before it seals in every {wanted} {thread} end that fits its seat: it stands \
                 out {own:.1} mm, and the deepest of them takes {deepest:.1} mm"
            )
        }
    })
}
