//! Lengths that straight fittings can make between two ends, by part count.

use super::stock::{LinkId, Socket, Span, Stock};

/// One length that `parts` straight fittings make between two ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub(super) span: Span,
    /// Whether any end in it swivels.
    pub(super) swivel: bool,
    pub(super) loss: u64,
}

type RunKey = ((i64, i64), bool, u64);

/// Widest stretch of an adjustable run that one length stands for, in millimetres, where a closed form needs a
/// number: it is tried at the middle of each such stretch and then polished over the whole range. Wider would cost
/// fewer tries and risk a start too far away to polish.
const STRETCH_STEP_MM: f64 = 2.0;

impl Run {
    /// A key under which equal runs sort together, shortest first.
    fn key(&self) -> RunKey {
        (self.span.key(), self.swivel, self.loss)
    }

    /// The lengths at which it is tried: at each, the length and how far to either side it stands for.
    pub(super) fn tries(&self) -> impl Iterator<Item = (f64, f64)> + use<> {
        let Span { shortest, longest } = self.span;
        let stretch = longest - shortest;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
        let steps = (stretch / STRETCH_STEP_MM).ceil().max(1.0) as u32;
        let half = stretch / f64::from(steps) / 2.0;
        (0..steps).map(move |step| (shortest + half * f64::from(2 * step + 1), half))
    }
}

/// Runs between the same two ends, shortest first.
#[derive(Clone, Debug, Default)]
pub(super) struct RunList {
    pub(super) runs: Vec<Run>,
    /// The greatest stretch among them.
    widest: f64,
}

impl RunList {
    fn new(runs: Vec<Run>) -> Self {
        let widest = runs.iter().map(|run| run.span.longest - run.span.shortest).fold(0.0, f64::max);
        Self { runs, widest }
    }

    /// The runs that can be made between `least` and `most` long, with their place in the list.
    pub(super) fn within(&self, least: f64, most: f64) -> impl Iterator<Item = (usize, &Run)> {
        let start = self.runs.partition_point(|run| run.span.shortest < least - self.widest);
        self.runs[start..]
            .iter()
            .enumerate()
            .take_while(move |(_, run)| run.span.shortest <= most)
            .filter(move |(_, run)| run.span.longest >= least)
            .map(move |(index, run)| (start + index, run))
    }
}

/// The runs between every pair of end classes, shortest first.
///
/// Runs of the same span, swivel and loss are one entry: which parts make it is worked out again, by
/// [`Runs::spell`], only for chains that close.
#[derive(Debug)]
pub(super) struct Runs<'s> {
    stock: &'s Stock,
    /// `reached[from][parts - 1]`: exit class and run of everything that can follow an end of class `from`.
    reached: Vec<Vec<Vec<(Socket, Run)>>>,
    /// `between[from][parts][to]`.
    between: Vec<Vec<Vec<RunList>>>,
}

impl<'s> Runs<'s> {
    pub(super) fn new(stock: &'s Stock) -> Self {
        let sockets = stock.mates.len();
        let nothing = Run { span: Span::default(), swivel: false, loss: 0 };
        let none = |row: &Vec<bool>| {
            vec![row.iter().map(|mates| RunList::new(if *mates { vec![nothing] } else { Vec::new() })).collect()]
        };
        Self { stock, reached: vec![Vec::new(); sockets], between: stock.mates.iter().map(none).collect() }
    }

    /// Makes runs available as chains of `parts` parts need them: of all `parts` only from the first port, for such a
    /// chain is straight throughout.
    pub(super) fn extend_to(&mut self, parts: usize) {
        for from in 0..self.between.len() {
            let most = if from == self.stock.from { parts } else { parts.saturating_sub(1) };
            while self.between[from].len() <= most {
                self.add_part(from);
            }
        }
    }

    /// Runs of exactly `parts` parts from an end of class `from` to one of class `to`, shortest first.
    pub(super) fn between(&self, from: Socket, to: Socket, parts: usize) -> &RunList {
        &self.between[from][parts][to]
    }

    fn add_part(&mut self, from: Socket) {
        let parts = self.between[from].len();
        let mates = &self.stock.mates;
        let mut made = Vec::new();
        for straight in &self.stock.straights {
            let single = Run { span: straight.span, swivel: straight.swivel, loss: straight.loss };
            if parts == 1 {
                if mates[from][straight.entry] {
                    made.push((straight.exit, single));
                }
                continue;
            }
            let before = self.reached[from][parts - 2].iter().filter(|(exit, _)| mates[*exit][straight.entry]);
            made.extend(before.map(|(_, run)| {
                let run = Run {
                    span: run.span.plus(single.span),
                    swivel: run.swivel || single.swivel,
                    loss: run.loss + single.loss,
                };
                (straight.exit, run)
            }));
        }
        let mut keyed: Vec<_> = made.into_iter().map(|(exit, run)| ((exit, run.key()), run)).collect();
        // Stable, so that of equal runs the first made stays; it is quick because every straight part adds to a list
        // that is in order already.
        keyed.sort_by_key(|(key, _)| *key);
        keyed.dedup_by_key(|(key, _)| *key);
        let reached: Vec<(Socket, Run)> = keyed.into_iter().map(|((exit, _), run)| (exit, run)).collect();
        let lists = (0..mates.len()).map(|to| {
            let fitting = reached.iter().filter(|(exit, _)| mates[*exit][to]);
            let mut keyed: Vec<_> = fitting.map(|(_, run)| (run.key(), *run)).collect();
            keyed.sort_by_key(|(key, _)| *key);
            keyed.dedup_by_key(|(key, _)| *key);
            RunList::new(keyed.into_iter().map(|(_, run)| run).collect())
        });
        let lists = lists.collect();
        self.between[from].push(lists);
        self.reached[from].push(reached);
    }

    /// Every sequence of `parts` links that makes `run` between the two ends, in link order.
    pub(super) fn spell(&self, from: Socket, to: Socket, parts: usize, run: &Run) -> Vec<Vec<LinkId>> {
        let mut found = Vec::new();
        self.spell_rest(from, to, parts, *run, false, &mut Vec::new(), &mut found);
        found.sort_unstable();
        found.dedup();
        found
    }

    #[expect(clippy::too_many_arguments, reason = "the state of one recursion")]
    fn spell_rest(
        &self,
        from: Socket,
        to: Socket,
        parts: usize,
        rest: Run,
        swivels: bool,
        word: &mut Vec<LinkId>,
        found: &mut Vec<Vec<LinkId>>,
    ) {
        if parts == 0 {
            let spent = |length: f64| super::stock::grains(length) == 0;
            if self.stock.mates[from][to]
                && spent(rest.span.shortest)
                && spent(rest.span.longest)
                && rest.loss == 0
                && swivels == rest.swivel
            {
                found.push(word.clone());
            }
            return;
        }
        for straight in &self.stock.straights {
            if !self.stock.mates[from][straight.entry] || straight.loss > rest.loss {
                continue;
            }
            let (shortest, longest) =
                (rest.span.shortest - straight.span.shortest, rest.span.longest - straight.span.longest);
            if shortest < -1e-4 || longest < -1e-4 {
                continue;
            }
            let left = Run { span: Span { shortest, longest }, loss: rest.loss - straight.loss, swivel: rest.swivel };
            word.push(straight.link);
            self.spell_rest(straight.exit, to, parts - 1, left, swivels || straight.swivel, word, found);
            word.pop();
        }
    }
}
