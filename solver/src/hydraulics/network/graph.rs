//! The shape of a circuit: a tree that reaches every port, and the loops that the other parts close.

use super::{Network, NetworkError, PartId, short_loops::shortened};

/// A circuit's tree and loops. Flows that are sums over the loops balance at every port by construction.
#[derive(Clone, Debug)]
pub(super) struct Graph {
    /// For each part, its two ports.
    pub(super) ends: Vec<(usize, usize)>,
    /// Parts of the tree in the order in which they are reached from the root, with the port they lead to.
    pub(super) tree: Vec<Reached>,
    /// Where the tree starts.
    pub(super) root: usize,
    /// A part of each loop that stands for it: the one that closed it before loops were made short.
    pub(super) chords: Vec<usize>,
    /// Each loop as parts with +1 where it runs along the part's stated direction, -1 where against it.
    pub(super) loops: Vec<Vec<(usize, f64)>>,
    /// The same the other way round: for each part the loops that it is in, with its sign there.
    pub(super) memberships: Vec<Vec<(usize, f64)>>,
    /// Flows that carry the supplies along the tree.
    pub(super) base_flows: Vec<f64>,
}

/// A part of the tree.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reached {
    pub(super) part: usize,
    /// The port it was reached from and the one it leads to.
    pub(super) parent: usize,
    pub(super) node: usize,
    /// +1 when the part's stated direction leads away from the root.
    pub(super) sign: f64,
}

impl Graph {
    /// Works out tree and loops; the `last` part, if any, becomes a chord when it is in a loop at all, and is then in no
    /// other loop.
    pub(super) fn new(network: &Network, last: Option<PartId>) -> Result<Self, NetworkError> {
        if network.parts.is_empty() {
            return Err(NetworkError::Empty);
        }
        let ends: Vec<_> = network.parts.iter().map(|part| (part.from.0, part.to.0)).collect();
        let first_pump = network.parts.iter().find(|part| part.has_running_pump());
        let root = network.reservoir.map_or_else(|| first_pump.map_or(0, |part| part.from.0), |(node, _)| node.0);

        // Pumps become chords where they can: their loops are then the ones a reader would draw.
        let mut order: Vec<usize> = (0..ends.len()).collect();
        order.sort_by_key(|&part| (last == Some(PartId(part)), network.parts[part].has_running_pump(), part));
        let mut sets = Sets::new(network.nodes.len());
        let (mut in_tree, mut chords) = (vec![Vec::new(); network.nodes.len()], Vec::new());
        for part in order {
            let (from, to) = ends[part];
            if sets.join(from, to) {
                in_tree[from].push((part, to, 1.0));
                in_tree[to].push((part, from, -1.0));
            } else {
                chords.push(part);
            }
        }
        let (tree, arrivals) = walk(root, &in_tree);
        Self::check_reach(network, root, &arrivals)?;
        let loops = chords.iter().map(|&chord| loop_of(chord, ends[chord], &arrivals)).collect();
        let alone = last.and_then(|PartId(last)| chords.iter().position(|&chord| chord == last));
        let loops = shortened(loops, ends.len(), alone);
        let mut memberships = vec![Vec::new(); ends.len()];
        for (index, parts) in loops.iter().enumerate() {
            parts.iter().for_each(|&(part, sign)| memberships[part].push((index, sign)));
        }
        let base_flows = supplied(network, &tree, ends.len())?;
        Ok(Self { ends, tree, root, chords, loops, memberships, base_flows })
    }

    fn check_reach(network: &Network, root: usize, arrivals: &[Option<Arrival>]) -> Result<(), NetworkError> {
        let unreached: Vec<String> = network
            .parts
            .iter()
            .filter(|part| part.from.0 != root && arrivals[part.from.0].is_none())
            .map(|part| part.name.clone())
            .collect();
        if unreached.is_empty() {
            return Ok(());
        }
        Err(NetworkError::Disconnected { parts: unreached, from: network.nodes[root].name.clone() })
    }
}

/// How the tree arrives at a port, and how many parts from the root.
#[derive(Clone, Copy)]
struct Arrival {
    reached: Reached,
    depth: usize,
}

fn walk(root: usize, in_tree: &[Vec<(usize, usize, f64)>]) -> (Vec<Reached>, Vec<Option<Arrival>>) {
    let mut arrivals: Vec<Option<Arrival>> = vec![None; in_tree.len()];
    let (mut tree, mut next) = (Vec::new(), vec![root]);
    while let Some(parent) = next.pop() {
        let depth = arrivals[parent].map_or(0, |arrival| arrival.depth) + 1;
        for &(part, node, sign) in &in_tree[parent] {
            if node != root && arrivals[node].is_none() {
                let reached = Reached { part, parent, node, sign };
                arrivals[node] = Some(Arrival { reached, depth });
                tree.push(reached);
                next.push(node);
            }
        }
    }
    (tree, arrivals)
}

/// Along the chord, and back through the tree.
fn loop_of(chord: usize, (from, to): (usize, usize), arrivals: &[Option<Arrival>]) -> Vec<(usize, f64)> {
    let mut parts = vec![(chord, 1.0)];
    // Both ends climb towards the root until they meet: from the chord's end against the tree, from its start along.
    let (mut down, mut up) = (to, from);
    while down != up {
        let depth = |node: usize| arrivals[node].map_or(0, |arrival| arrival.depth);
        let climbs_down_side = depth(down) >= depth(up);
        let Some(Arrival { reached, .. }) = arrivals[if climbs_down_side { down } else { up }] else { break };
        if climbs_down_side {
            parts.push((reached.part, -reached.sign));
            down = reached.parent;
        } else {
            parts.push((reached.part, reached.sign));
            up = reached.parent;
        }
    }
    parts
}

/// Flows that bring every supply to the root and so balance each port.
fn supplied(network: &Network, tree: &[Reached], parts: usize) -> Result<Vec<f64>, NetworkError> {
    let mut surplus: Vec<f64> = network.nodes.iter().map(|node| node.supply_m3_s).collect();
    let (sum, size) = surplus.iter().fold((0.0, 0.0), |(sum, size), supply| (sum + supply, size + supply.abs()));
    if sum.abs() > 1e-9 * size {
        return Err(NetworkError::Unbalanced { surplus_m3_s: sum });
    }
    let mut flows = vec![0.0; parts];
    for reached in tree.iter().rev() {
        flows[reached.part] = -reached.sign * surplus[reached.node];
        surplus[reached.parent] += surplus[reached.node];
    }
    Ok(flows)
}

/// Sets of ports that are joined.
struct Sets {
    parent: Vec<usize>,
}

impl Sets {
    fn new(size: usize) -> Self {
        Self { parent: (0..size).collect() }
    }

    /// Joins two sets; false when they are one already.
    fn join(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a] = b;
        a != b
    }

    fn find(&mut self, mut node: usize) -> usize {
        while self.parent[node] != node {
            self.parent[node] = self.parent[self.parent[node]];
            node = self.parent[node];
        }
        node
    }
}
