//! Which fields are due a test, and why.

use crate::model::{FieldId, Records};

/// Whether a field is due a test.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// The field.
    pub field: FieldId,
    /// Whether it is due.
    pub due: bool,
    /// Why, or why not, one sentence each.
    pub reasons: Vec<String>,
    /// Higher is more urgent; 0 to 100.
    pub score: f64,
}

/// Every field of the harvest year, most urgent first.
pub fn due(records: &Records, year: i32) -> Vec<Due> {
    let _ = (records, year);
    todo!()
}
