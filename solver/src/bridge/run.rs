//! Lengths that straight fittings can make between two ends, by part count.

use super::stock::{LinkId, Socket, Span, Stock};
use std::collections::BTreeMap;

/// One length that `parts` straight fittings make between two ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub(super) span: Span,
    /// Whether any end in it swivels.
    pub(super) swivel: bool,
    pub(super) loss: u64,
}

type RunKey = ((i64, i64, i64), bool, u64);

/// The runs between every pair of end classes, shortest first.
///
/// Runs of the same span, swivel and loss are one entry: which parts make it is worked out again, by
/// [`Runs::spell`], only for chains that close.
#[derive(Debug)]
pub(super) struct Runs<'s> {
    stock: &'s Stock,
    /// `reached[from][parts]`: exit class and run of everything that can follow an end of class `from`.
    reached: Vec<Vec<Vec<(Socket, Run)>>>,
    /// `between[parts][from][to]`.
    between: Vec<Vec<Vec<Vec<Run>>>>,
}

impl<'s> Runs<'s> {
    pub(super) fn new(stock: &'s Stock) -> Self {
        let sockets = stock.mates.len();
        let nothing = Run { span: Span::default(), swivel: false, loss: 0 };
        let none = stock
            .mates
            .iter()
            .map(|row| row.iter().map(|mates| if *mates { vec![nothing] } else { Vec::new() }).collect())
            .collect();
        Self { stock, reached: vec![Vec::new(); sockets], between: vec![none] }
    }

    /// Makes runs of up to `parts` parts available.
    pub(super) fn extend_to(&mut self, parts: usize) {
        while self.between.len() <= parts {
            self.add_part();
        }
    }

    /// Runs of exactly `parts` parts from an end of class `from` to one of class `to`, shortest first.
    pub(super) fn between(&self, from: Socket, to: Socket, parts: usize) -> &[Run] {
        &self.between[parts][from][to]
    }

    fn add_part(&mut self) {
        let parts = self.between.len();
        let sockets = self.stock.mates.len();
        let mut table = Vec::with_capacity(sockets);
        for from in 0..sockets {
            let mut next: BTreeMap<(Socket, RunKey), Run> = BTreeMap::new();
            let mut add = |exit, run: Run| {
                next.entry((exit, (run.span.key(), run.swivel, run.loss))).or_insert(run);
            };
            for straight in &self.stock.straights {
                let single = Run { span: straight.span, swivel: straight.swivel, loss: straight.loss };
                if parts == 1 {
                    if self.stock.mates[from][straight.entry] {
                        add(straight.exit, single);
                    }
                    continue;
                }
                for (exit, run) in &self.reached[from][parts - 2] {
                    if self.stock.mates[*exit][straight.entry] {
                        add(
                            straight.exit,
                            Run {
                                span: run.span.plus(single.span),
                                swivel: run.swivel || single.swivel,
                                loss: run.loss + single.loss,
                            },
                        );
                    }
                }
            }
            let reached: Vec<(Socket, Run)> = next.into_iter().map(|((exit, _), run)| (exit, run)).collect();
            table.push(
                (0..sockets)
                    .map(|to| {
                        let fitting: BTreeMap<RunKey, Run> = reached
                            .iter()
                            .filter(|(exit, _)| self.stock.mates[*exit][to])
                            .map(|(_, run)| ((run.span.key(), run.swivel, run.loss), *run))
                            .collect();
                        fitting.into_values().collect()
                    })
                    .collect(),
            );
            self.reached[from].push(reached);
        }
        self.between.push(table);
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
        let mut last = None;
        for straight in &self.stock.straights {
            // An adjustable part stands here once for each length at which it is tried.
            if last == Some(straight.link) || !self.stock.mates[from][straight.entry] || straight.loss > rest.loss {
                continue;
            }
            last = Some(straight.link);
            let (shortest, longest) =
                (rest.span.shortest - straight.span.shortest, rest.span.longest - straight.span.longest);
            if shortest < -1e-4 || longest < -1e-4 {
                continue;
            }
            let left = Run {
                span: Span { shortest, longest, ..rest.span },
                loss: rest.loss - straight.loss,
                swivel: rest.swivel,
            };
            word.push(straight.link);
            self.spell_rest(straight.exit, to, parts - 1, left, swivels || straight.swivel, word, found);
            word.pop();
        }
    }
}
