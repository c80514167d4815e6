//! Where a field came from and what became of it, in words.

use crate::model::{Field, FieldId, Records};

impl Records {
    /// "split from Long Acre in 2026", "merged from West and East in 2026"; none for a field that came from no other.
    pub fn lineage(&self, field: &Field) -> Option<String> {
        let origins: Vec<&str> =
            field.came_from.iter().filter_map(|id| self.fields.get(id)).map(|origin| origin.name.as_str()).collect();
        let heirs = |origin: &FieldId| self.fields.values().filter(|other| other.came_from.contains(origin)).count();
        let word = match origins.as_slice() {
            [] => return None,
            [_] if field.came_from.iter().any(|origin| heirs(origin) > 1) => "split",
            [_] => "drawn anew",
            _ => "merged",
        };
        let year = field.from_year.map(|year| format!(" in {year}")).unwrap_or_default();
        Some(format!("{word} from {}{year}", origins.join(" and ")))
    }
}
