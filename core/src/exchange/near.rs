//! Which field is nearest to a position, and names that nearly match.

use geo::{BoundingRect as _, Coord, Distance as _, Euclidean, MultiPolygon, Point, Rect};
use rstar::{AABB, RTree, RTreeObject};

use crate::crs::LocalPlane;
use crate::model::{Field, FieldId};

/// Field boundaries, ready to be asked what is near.
pub(super) struct Near<'a> {
    tree: RTree<Entry<'a>>,
}

struct Entry<'a> {
    id: FieldId,
    boundary: &'a MultiPolygon<f64>,
    rect: Rect<f64>,
}

impl RTreeObject for Entry<'_> {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners([self.rect.min().x, self.rect.min().y], [self.rect.max().x, self.rect.max().y])
    }
}

impl<'a> Near<'a> {
    /// Boundaries of fields.
    pub fn new(fields: impl Iterator<Item = &'a Field>) -> Self {
        let entries = fields.filter_map(|field| {
            let rect = field.boundary.bounding_rect()?;
            Some(Entry { id: field.id, boundary: &field.boundary, rect })
        });
        Self { tree: RTree::bulk_load(entries.collect()) }
    }

    /// The field nearest to a position in degrees and how far it is in m (0 inside), if it is within `limit_m`.
    pub fn nearest(&self, position: Coord<f64>, limit_m: f64) -> Option<(FieldId, f64)> {
        let plane = LocalPlane::at(position).ok()?;
        // A degree of latitude is never shorter than 110 km, one of longitude shrinks with the cosine.
        let up = limit_m / 110_000.0;
        let aside = up / position.y.to_radians().cos().max(0.01);
        let window = AABB::from_corners([position.x - aside, position.y - up], [position.x + aside, position.y + up]);
        self.tree
            .locate_in_envelope_intersecting(&window)
            .map(|entry| (entry.id, Euclidean.distance(&Point::new(0.0, 0.0), &plane.to_metres(entry.boundary))))
            .filter(|(_, distance)| *distance <= limit_m)
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
    }
}

/// The name of the list that is most like `name`, if it is like enough to offer it.
pub(super) fn like<'a>(name: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted: Vec<char> = name.trim().to_lowercase().chars().collect();
    let most = (wanted.len() / 3).max(1);
    names
        .map(|other| (edits(&wanted, &other.to_lowercase().chars().collect::<Vec<_>>()), other))
        .filter(|(edits, _)| *edits <= most)
        .min()
        .map(|(_, other)| other)
}

/// Letters to put in, take out or change to make one word of the other (Levenshtein 1966).
fn edits(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut corner = i;
        let mut left = i + 1;
        let mut next = vec![left];
        for (j, y) in b.iter().enumerate() {
            let above = row.get(j + 1).copied().unwrap_or(usize::MAX - 1);
            left = (corner + usize::from(x != y)).min(left + 1).min(above + 1);
            corner = above;
            next.push(left);
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_nearly_match() {
        let names = ["Long Acre", "Low Acre", "Pit Close"];
        assert_eq!(like("Long Arce", names.into_iter()), Some("Long Acre"));
        assert_eq!(like("longacre", names.into_iter()), Some("Long Acre"));
        assert_eq!(like("Mill Field", names.into_iter()), None);
        let chars = |text: &str| text.chars().collect::<Vec<_>>();
        assert_eq!(edits(&chars("kitten"), &chars("sitting")), 3);
    }
}
