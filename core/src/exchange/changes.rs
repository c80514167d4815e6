//! A year's boundaries beside those that held before: same, moved edge, renamed, split, merged, new, gone.
//!
//! Two shapes are of one land if the smaller of them lies at least nearly half in the other. What hangs together by that is one
//! change; how many old and new shapes hang together says which.

use std::collections::BTreeMap;

use geo::{Area as _, BooleanOps as _, BoundingRect as _, MultiPolygon};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use crate::crs::LocalPlane;
use crate::geometry;

/// Share of the smaller shape that must lie in the other for both to be of one land. Below a half, so that a strip laid across two
/// equal fields is of both, whatever the rounding (our choice, no source).
const ONE_LAND: f64 = 0.45;
/// Two shapes that have this share of their union in common have the same edge; surveys of one edge differ by as much.
const SAME_EDGE: f64 = 0.995;

/// What became of land.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChangeKind {
    /// Same shape, same name.
    Same,
    /// Same name, another edge.
    MovedEdge,
    /// One old, one new, another name.
    Renamed,
    /// One old, several new.
    Split,
    /// Several old, one new.
    Merged,
    /// Several old, several new.
    Redrawn,
    /// Only new.
    New,
    /// Only old.
    Gone,
}

impl ChangeKind {
    /// All kinds, in the order in which they are told.
    pub const ALL: [Self; 8] =
        [Self::Same, Self::MovedEdge, Self::Renamed, Self::Split, Self::Merged, Self::Redrawn, Self::New, Self::Gone];

    /// The word for it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::MovedEdge => "moved edge",
            Self::Renamed => "renamed",
            Self::Split => "split",
            Self::Merged => "merged",
            Self::Redrawn => "redrawn",
            Self::New => "new",
            Self::Gone => "not in the file",
        }
    }
}

/// One shape with its name, degrees.
#[derive(Debug, Clone, Copy)]
pub(super) struct Land<'a> {
    pub name: &'a str,
    pub boundary: &'a MultiPolygon<f64>,
}

/// Old and new shapes that hang together, by their places in the lists given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    pub kind: ChangeKind,
    pub old: Vec<usize>,
    pub new: Vec<usize>,
    /// Whether the edges differ (of a renamed field).
    pub edge: bool,
}

/// The changes from the old shapes to the new ones, in the order of the old, then the new ones.
pub(super) fn changes(old: &[Land<'_>], new: &[Land<'_>]) -> Vec<Change> {
    let links = links(old, new);
    // Groups as a forest: every shape points to another of its group, the root to itself; new shapes after the old.
    let mut root: Vec<usize> = (0..old.len() + new.len()).collect();
    for (a, b, _) in &links {
        let (a, b) = (top(&root, *a), top(&root, old.len() + b));
        if let Some(slot) = root.get_mut(a.max(b)) {
            *slot = a.min(b);
        }
    }
    // The root of a group is the first of it, so that groups come in the order of their first shapes.
    let mut groups: BTreeMap<usize, Change> = BTreeMap::new();
    for index in 0..root.len() {
        let change = groups.entry(top(&root, index)).or_insert_with(|| Change {
            kind: ChangeKind::New,
            old: Vec::new(),
            new: Vec::new(),
            edge: false,
        });
        if index < old.len() { change.old.push(index) } else { change.new.push(index - old.len()) }
    }
    let mut list: Vec<Change> = groups.into_values().collect();
    for change in &mut list {
        (change.kind, change.edge) = kind(change, old, new, &links);
    }
    list
}

fn kind(change: &Change, old: &[Land<'_>], new: &[Land<'_>], links: &[(usize, usize, f64)]) -> (ChangeKind, bool) {
    match (change.old.as_slice(), change.new.as_slice()) {
        ([a], [b]) => {
            // They stand in the order of old and new.
            let found = links.binary_search_by(|(old, new, _)| (old, new).cmp(&(a, b))).ok();
            let common = found.and_then(|at| links.get(at)).map_or(0.0, |(_, _, common)| *common);
            let edge = common < SAME_EDGE;
            let named = old.get(*a).zip(new.get(*b)).is_some_and(|(a, b)| crate::model::same_name(a.name, b.name));
            match (named, edge) {
                (false, edge) => (ChangeKind::Renamed, edge),
                (true, true) => (ChangeKind::MovedEdge, true),
                (true, false) => (ChangeKind::Same, false),
            }
        }
        ([], _) => (ChangeKind::New, false),
        (_, []) => (ChangeKind::Gone, false),
        ([_], _) => (ChangeKind::Split, true),
        (_, [_]) => (ChangeKind::Merged, true),
        _ => (ChangeKind::Redrawn, true),
    }
}

fn top(root: &[usize], mut at: usize) -> usize {
    while let Some(next) = root.get(at).copied().filter(|next| *next != at) {
        at = next;
    }
    at
}

/// Pairs of one land: old, new, and the common part as a share of the union.
fn links(old: &[Land<'_>], new: &[Land<'_>]) -> Vec<(usize, usize, f64)> {
    let entry = |(index, land): (usize, &Land<'_>)| {
        let rect = land.boundary.bounding_rect()?;
        let corners = Rectangle::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
        Some(GeomWithData::new(corners, index))
    };
    let tree = RTree::bulk_load(old.iter().enumerate().filter_map(entry).collect());
    let mut list = Vec::new();
    for (index, land) in new.iter().enumerate() {
        let Some(rect) = geometry::bounds(land.boundary) else { continue };
        let Ok(plane) = LocalPlane::around(rect) else { continue };
        let mut own = None;
        let window = AABB::from_corners([rect.min().x, rect.min().y], [rect.max().x, rect.max().y]);
        for candidate in tree.locate_in_envelope_intersecting(&window) {
            let Some(other) = old.get(candidate.data) else { continue };
            let own = own.get_or_insert_with(|| plane.to_metres(land.boundary));
            let other = plane.to_metres(other.boundary);
            let (a, b) = (other.unsigned_area(), own.unsigned_area());
            let common = if other == *own { a } else { own.intersection(&other).unsigned_area() };
            if common > 0.0 && common >= ONE_LAND * a.min(b) {
                list.push((candidate.data, index, common / (a + b - common)));
            }
        }
    }
    list.sort_by_key(|(old, new, _)| (*old, *new));
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    /// A rectangle in hundreds of metres, about, at 52.5 N.
    fn land(x: f64, y: f64, width: f64, height: f64) -> MultiPolygon<f64> {
        let at = |x: f64, y: f64| coord! { x: -0.4 + x / 677.6, y: 52.5 + y / 1112.8 };
        MultiPolygon(vec![Rect::new(at(x, y), at(x + width, y + height)).to_polygon()])
    }

    fn found(
        old: &[(&str, MultiPolygon<f64>)],
        new: &[(&str, MultiPolygon<f64>)],
    ) -> Vec<(ChangeKind, Vec<usize>, Vec<usize>)> {
        let old: Vec<Land<'_>> = old.iter().map(|(name, boundary)| Land { name, boundary }).collect();
        let new: Vec<Land<'_>> = new.iter().map(|(name, boundary)| Land { name, boundary }).collect();
        changes(&old, &new).into_iter().map(|change| (change.kind, change.old, change.new)).collect()
    }

    #[test]
    fn every_kind_of_change() {
        let old = [
            ("Same", land(0.0, 0.0, 4.0, 4.0)),
            ("Edge", land(10.0, 0.0, 4.0, 4.0)),
            ("Old name", land(20.0, 0.0, 4.0, 4.0)),
            ("Big", land(30.0, 0.0, 8.0, 4.0)),
            ("West", land(40.0, 0.0, 4.0, 4.0)),
            ("East", land(44.0, 0.0, 4.0, 4.0)),
            ("Sold", land(60.0, 0.0, 4.0, 4.0)),
        ];
        let new = [
            ("same ", land(0.0, 0.0, 4.0, 4.0)),
            ("Edge", land(10.0, 0.0, 4.0, 3.5)),
            ("New name", land(20.0, 0.0, 4.0, 4.0)),
            ("Big", land(30.0, 0.0, 7.0, 4.0)),
            ("Corner", land(37.0, 0.0, 1.0, 4.0)),
            ("Both", land(40.0, 0.0, 8.0, 4.0)),
            ("Bought", land(70.0, 0.0, 4.0, 4.0)),
        ];
        let wanted = [
            (ChangeKind::Same, vec![0], vec![0]),
            (ChangeKind::MovedEdge, vec![1], vec![1]),
            (ChangeKind::Renamed, vec![2], vec![2]),
            (ChangeKind::Split, vec![3], vec![3, 4]),
            (ChangeKind::Merged, vec![4, 5], vec![5]),
            (ChangeKind::Gone, vec![6], vec![]),
            (ChangeKind::New, vec![], vec![6]),
        ];
        assert_eq!(found(&old, &new), wanted);
    }

    #[test]
    fn neighbours_that_shift_their_common_edge_stay_themselves() {
        let old = [("West", land(0.0, 0.0, 4.0, 4.0)), ("East", land(4.0, 0.0, 4.0, 4.0))];
        let new = [("East", land(2.6, 0.0, 5.4, 4.0)), ("West", land(0.0, 0.0, 2.6, 4.0))];
        let kinds: Vec<_> = found(&old, &new).into_iter().map(|(kind, old, new)| (kind, old[0], new[0])).collect();
        assert_eq!(kinds, [(ChangeKind::MovedEdge, 0, 1), (ChangeKind::MovedEdge, 1, 0)]);
        // What crosses both lands makes one redrawn group.
        let across = [("North", land(0.0, 0.0, 8.0, 2.0)), ("South", land(0.0, 2.0, 8.0, 2.0))];
        assert_eq!(found(&old, &across), [(ChangeKind::Redrawn, vec![0, 1], vec![0, 1])]);
    }
}
