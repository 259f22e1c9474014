//! A listed chain taken apart again into what the closure works on.

use crate::{
    bridge::{
        answer::Chain,
        closure::{MAX_TURNS, Posture, Skeleton, Span, Turn},
        placed::{Closed, Laid},
        stock::{LinkId, Run},
    },
    catalog::{Catalog, FittingDef},
};

/// The parts of a chain and how they are turned.
pub(super) struct Rebuilt {
    /// A copy of each part's fitting, in chain order: the links count in this list.
    pub(super) fittings: Vec<FittingDef>,
    pub(super) links: Vec<LinkId>,
    /// The chain as the search hands it to whoever lays it out.
    pub(super) closed: Closed,
    /// The posture that is listed.
    pub(super) posture: Posture,
    turns: Vec<Turn>,
}

impl Rebuilt {
    /// `None` if a part is not in the catalog, is no link, or there are more turning parts than a chain can have.
    pub(super) fn new(catalog: &Catalog, chain: &Chain) -> Option<Self> {
        let mut posture = Posture { turns: [0.0; MAX_TURNS], runs: [0.0; MAX_TURNS + 1], draws: [0.0; MAX_TURNS] };
        let empty = Laid { run: Run { span: Span::default(), swivel: false, loss: 0 }, parts: 0, length: 0.0 };
        let mut runs = vec![empty];
        let (mut fittings, mut links, mut turns) = (Vec::new(), Vec::new(), Vec::new());
        for (link, part) in (0..).step_by(2).zip(&chain.parts) {
            let fitting = catalog.fitting(&part.fitting).filter(|fitting| fitting.is_link())?;
            let entry: LinkId = [0, 1].get(part.entry).copied()?;
            let run = runs.last_mut()?;
            match Turn::of(fitting, part.entry) {
                None => {
                    let shortest: f64 = fitting.legs.iter().sum();
                    let longest = shortest + fitting.stretch_mm.unwrap_or(0.0);
                    run.run.span = run.run.span.plus(Span { shortest, longest });
                    run.length += shortest + part.stretch_mm;
                    run.parts += 1;
                }
                Some(turn) => {
                    let index = turns.len();
                    *posture.turns.get_mut(index)? = part.turn_deg?.to_radians();
                    *posture.draws.get_mut(index)? = part.stretch_mm;
                    turns.push(turn);
                    runs.push(empty);
                }
            }
            links.push(link + entry);
            fittings.push(fitting.clone());
        }
        for (length, run) in posture.runs.iter_mut().zip(&runs) {
            *length = run.length.clamp(run.run.span.shortest, run.run.span.longest);
        }
        let closed = Closed { loss: 0, turns: vec![0; turns.len()], runs, postures: Vec::new() };
        Some(Self { fittings, links, closed, posture, turns })
    }

    /// The chain as the closure sees it.
    pub(super) fn skeleton(&self) -> Skeleton<'_> {
        let mut skeleton = Skeleton::EMPTY;
        skeleton.count = self.turns.len();
        self.turns.iter().zip(&mut skeleton.turns).for_each(|(turn, slot)| *slot = turn);
        self.closed.runs.iter().zip(&mut skeleton.runs).for_each(|(laid, span)| *span = laid.run.span);
        skeleton.tried = self.posture.runs;
        skeleton
    }
}
