//! The walk of one or two people: from a gate past all stops to a gate, on the network.

use geo::{Coord, LineString};
use petgraph::graph::NodeIndex;

use crate::walk::noded::Ways;
use crate::walk::reach::Reach;
use crate::walk::tour::Tour;
use crate::walk::{Ends, Network, shortest_open_tour, shortest_tour, two_tours};

/// A walk of one person.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// The way, m; closed unless it ends at another gate.
    pub line: LineString<f64>,
    /// Its length, m.
    pub length_m: f64,
    /// Indices of the stops in walking order.
    pub order: Vec<usize>,
    /// The gate it starts from; none: it starts at a stop, as there is no gate.
    pub gate: Option<Coord<f64>>,
    /// The gate it ends at, if that is another; none: it ends where it starts.
    pub end: Option<Coord<f64>>,
    /// Whether no shorter order exists, nor, for two people, a division of the stops by which the longer walk is shorter.
    pub exact: bool,
}

/// Who walks, and from where to where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WalkWish {
    /// How many people share the stops: 1 or 2.
    pub people: usize,
    /// Index of the gate to start from; none: whichever gives the shortest walk.
    pub start: Option<usize>,
    /// Index of the gate to end at; none: the one started from.
    pub end: Option<usize>,
    /// Time at a stop, as metres walked in it; it counts where two people share the stops.
    pub stop_cost_m: f64,
}

impl Default for WalkWish {
    fn default() -> Self {
        Self { people: 1, start: None, end: None, stop_cost_m: 0.0 }
    }
}

/// The shortest closed walk past `stops` from whichever gate gives it. None without stops, or when a stop cannot be reached.
pub fn shortest_walk(network: &Network, gates: &[Coord<f64>], stops: &[Coord<f64>]) -> Option<Route> {
    shortest_walks(network, gates, stops, &WalkWish::default())?.pop()
}

/// The walks past `stops`, one a person who has a stop: for one the shortest, for two those whose longer takes least time. None
/// without stops, when a stop cannot be reached, or when a gate wished for is not there. Without gates one person starts at the
/// first stop, two at the stop from which the others are nearest.
pub fn shortest_walks(network: &Network, gates: &[Coord<f64>], stops: &[Coord<f64>], wish: &WalkWish) -> Option<Vec<Route>> {
    let wished_for = wish.start.iter().chain(&wish.end);
    if stops.is_empty() || wished_for.copied().any(|gate| gate >= gates.len()) {
        return None;
    }
    let survey = Survey::of(network, gates, stops);
    let starts: Vec<Option<usize>> = match wish.start {
        Some(gate) => vec![Some(gate)],
        None if gates.is_empty() => vec![None],
        None => (0..gates.len()).map(Some).collect(),
    };
    let outings = starts.into_iter().map(|start| survey.outing(start, wish));
    let outing = outings.min_by(|a, b| a.cost(wish).total_cmp(&b.cost(wish)))?;
    survey.routes(&outing)
}

/// Gates and stops, and the shortest ways between them.
struct Survey<'a> {
    gates: &'a [Coord<f64>],
    /// Gates, then stops.
    places: Vec<Coord<f64>>,
    ways: Ways,
    nodes: Vec<NodeIndex>,
    reach: Vec<Reach>,
}

/// Tours from a gate, over the places visited.
struct Outing {
    gate: Option<usize>,
    end: Option<usize>,
    /// Whether the start is not itself one of the stops of each tour: it is a gate, or a stop where two people meet, which one of
    /// them takes.
    apart: bool,
    /// Indices of the places: start, stops and, if it is another, the end.
    visited: Vec<usize>,
    tours: Vec<Tour>,
}

impl Outing {
    /// How many stops a tour has.
    fn stops(&self, tour: &Tour) -> usize {
        tour.order.len() - usize::from(self.apart) - usize::from(self.end.is_some())
    }

    /// What the longest of the tours costs, m.
    fn cost(&self, wish: &WalkWish) -> f64 {
        let cost = |tour: &Tour| tour.length + wish.stop_cost_m * self.stops(tour) as f64;
        self.tours.iter().map(cost).fold(0.0, f64::max)
    }
}

impl<'a> Survey<'a> {
    fn of(network: &Network, gates: &'a [Coord<f64>], stops: &[Coord<f64>]) -> Self {
        let places: Vec<Coord<f64>> = gates.iter().chain(stops).copied().collect();
        let (ways, nodes) = network.with_places(&places);
        let reach = nodes.iter().map(|node| Reach::from(&ways, *node)).collect();
        Self { gates, places, ways, nodes, reach }
    }

    fn between(&self, a: usize, b: usize) -> f64 {
        self.reach[a].distance(self.nodes[b])
    }

    /// The best walks from a gate; from a stop, if there is none.
    fn outing(&self, gate: Option<usize>, wish: &WalkWish) -> Outing {
        let stops: Vec<usize> = (self.gates.len()..self.places.len()).collect();
        let end = wish.end.filter(|end| Some(*end) != gate);
        let apart = gate.is_some() || wish.people > 1;
        let start = gate.unwrap_or_else(|| if wish.people > 1 { self.middle(&stops) } else { stops[0] });
        let own = stops.into_iter().filter(|stop| apart || *stop != start);
        let visited: Vec<usize> = std::iter::once(start).chain(own).chain(end).collect();
        let distance: Vec<Vec<f64>> =
            visited.iter().map(|a| visited.iter().map(|b| self.between(*a, *b)).collect()).collect();
        let tours = match (wish.people > 1, end) {
            (false, None) => vec![shortest_tour(&distance)],
            (false, Some(_)) => vec![shortest_open_tour(&distance)],
            (true, None) => two_tours(&distance, Ends::AtStart, wish.stop_cost_m).into(),
            (true, Some(_)) => two_tours(&distance, Ends::AtLast, wish.stop_cost_m).into(),
        };
        Outing { gate, end, apart, visited, tours }
    }

    /// The place from which the others are nearest.
    fn middle(&self, stops: &[usize]) -> usize {
        let sum = |a: &usize| stops.iter().map(|b| self.between(*a, *b)).sum::<f64>();
        stops.iter().copied().min_by(|a, b| sum(a).total_cmp(&sum(b))).unwrap_or(0)
    }

    /// The routes of an outing, that which goes to the west first.
    fn routes(&self, outing: &Outing) -> Option<Vec<Route>> {
        let mut walked: Vec<(Vec<usize>, &Tour)> = Vec::new();
        for tour in outing.tours.iter().filter(|tour| outing.stops(tour) > 0) {
            let mut around: Vec<usize> = tour.order.iter().map(|at| outing.visited[*at]).collect();
            if outing.end.is_none() && self.is_backward(&around) {
                around[1..].reverse();
            }
            walked.push((around, tour));
        }
        walked.sort_by(|(a, _), (b, _)| {
            self.key(a.get(1)).partial_cmp(&self.key(b.get(1))).unwrap_or(std::cmp::Ordering::Equal)
        });
        walked.into_iter().map(|(around, tour)| self.route(&around, tour, outing)).collect()
    }

    fn route(&self, around: &[usize], tour: &Tour, outing: &Outing) -> Option<Route> {
        let line = self.line_along(around, outing.end.is_none())?;
        let stops = around.iter().skip(usize::from(outing.apart)).filter(|at| **at >= self.gates.len());
        let order = stops.map(|at| at - self.gates.len()).collect();
        let at = |gate: Option<usize>| gate.map(|gate| self.gates[gate]);
        Some(Route { line, length_m: tour.length, order, gate: at(outing.gate), end: at(outing.end), exact: tour.exact })
    }

    /// A closed tour is as long either way round; this settles which is walked, whatever order the stops were given in: to the
    /// western of the two neighbours of the start first.
    fn is_backward(&self, around: &[usize]) -> bool {
        around.len() > 2 && self.key(around.get(1)) > self.key(around.last())
    }

    fn key(&self, place: Option<&usize>) -> (f64, f64) {
        place.and_then(|at| self.places.get(*at)).map_or((0.0, 0.0), |place| (place.x, place.y))
    }

    /// The way along places, and back to the first if it is closed.
    fn line_along(&self, around: &[usize], closed: bool) -> Option<LineString<f64>> {
        let mut line = vec![self.ways[self.nodes[*around.first()?]]];
        let next = around.iter().skip(1).chain(around.first().filter(|_| closed));
        for (a, b) in around.iter().zip(next) {
            let path = self.reach[*a].path(self.nodes[*b])?;
            line.extend(path.into_iter().map(|node| self.ways[node]));
        }
        Some(LineString(line))
    }
}
