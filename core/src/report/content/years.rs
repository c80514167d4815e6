//! Two harvest years side by side: the land by class in each, and the fields whose class is another.

use std::collections::BTreeSet;

use crate::model::{FieldId, Records};
use crate::rating::{RatingOf, Tested, field_ratings};
use crate::report::content::fields_of;
use crate::report::content::land::{ClassLand, FieldLine, classes};
use crate::report::request::ReportRequest;

/// A field that was known otherwise in the other harvest.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldChange {
    /// Its number in the lines.
    pub line: usize,
    /// As known in the other harvest; none: not tested yet.
    pub then: Option<Tested>,
    /// As known in the report's harvest.
    pub now: Option<Tested>,
}

/// What was known in two harvests.
#[derive(Debug, Clone, PartialEq)]
pub struct Years {
    /// The other harvest.
    pub beside: i32,
    /// Its fields.
    pub fields: BTreeSet<FieldId>,
    /// Land by class then, worst first, then untested.
    pub then: Vec<ClassLand>,
    /// Land by class now.
    pub now: Vec<ClassLand>,
    /// Fields of the report's harvest whose class differs, by farm and name.
    pub changed: Vec<FieldChange>,
}

pub(super) fn of(records: &Records, request: &ReportRequest, beside: i32, lines: &[FieldLine]) -> Years {
    let then = field_ratings(records, beside);
    let tested = |found: &crate::rating::GroupRating| Tested { rating: found.rating, year: found.year, by: found.by };
    let change = |(at, line): (usize, &FieldLine)| {
        let then = then.get(&line.id).and_then(|known| known.by(&RatingOf::Worst)).map(tested);
        let now = line.worst.zip(line.worst_year).map(|(rating, year)| Tested { rating, year, by: line.worst_by });
        (then.map(|t| t.rating) != line.worst).then_some(FieldChange { line: at, then, now })
    };
    // The land as it was cut then: the fields themselves, and those that they came from.
    let wanted: Option<BTreeSet<FieldId>> = request.fields.as_ref().map(|wanted| {
        let fields = wanted.iter().filter_map(|id| records.fields.get(id));
        wanted.iter().copied().chain(fields.flat_map(|field| field.came_from.clone())).collect()
    });
    let fields = fields_of(records, &ReportRequest { year: beside, fields: wanted, ..request.clone() });
    let rated = fields.iter().map(|field| (then.get(&field.id).and_then(|known| known.worst), field.area_m2()));
    Years {
        beside,
        fields: fields.iter().map(|field| field.id).collect(),
        then: classes(rated),
        now: classes(lines.iter().map(|line| (line.worst, line.area_m2))),
        changed: lines.iter().enumerate().filter_map(change).collect(),
    }
}
