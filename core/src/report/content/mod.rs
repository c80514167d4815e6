//! What a report says, as plain figures, worked out once: pages, screen and tests read the same.
//!
//! Takes records and a [`ReportRequest`]; areas in m2, reductions in %, shares from 0 to 1. Nothing here knows of paper.

mod act;
mod farms;
mod fields;
mod land;
mod season;
mod sources;
mod years;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::model::{Field, Rating, Records};
use crate::progress::{Cancelled, Progress};
use crate::rating::{History, field_ratings};
use crate::report::request::{Part, ReportRequest};
use crate::season::Due;

pub use act::Consequences;
pub use farms::HiddenFarm;
pub use fields::{FieldPage, HistoryRow, NextTest, TestLine};
pub use land::{Ages, ChangeLine, ClassLand, FieldLine, GroupLand};
pub use season::{PlanLine, SeasonPlan};
pub use sources::{AssaySource, SurveySource};
pub use years::{FieldChange, Years};

/// What a report says.
#[derive(Debug, Clone, PartialEq)]
pub struct Content {
    /// Harvest year: everything as known in it.
    pub year: i32,
    /// Name of the project.
    pub project: String,
    /// Names of the farms.
    pub farms: Vec<String>,
    /// All land, m2.
    pub area_m2: f64,
    /// Every field, by farm and name.
    pub lines: Vec<FieldLine>,
    /// Land by the worst of the latest ratings, worst first, then land never tested.
    pub classes: Vec<ClassLand>,
    /// Land by mode of action, in the order of group numbers.
    pub groups: Vec<GroupLand>,
    /// Land by the age of its last test.
    pub ages: Ages,
    /// Harvests after which a test is due again.
    pub interval: i32,
    /// Fields by number in [`Content::lines`], the worst first: by rating, then by modes of action that are RR or RRR, then by area.
    pub worst: Vec<usize>,
    /// Fields tested more than once in one mode of action, the most worsened first.
    pub changes: Vec<ChangeLine>,
    /// Fields tested, but nothing twice.
    pub tested_once: usize,
    /// What the coming season asks for.
    pub season: SeasonPlan,
    /// Pages of fields.
    pub pages: Vec<FieldPage>,
    /// What follows from planned programmes and for the coming years.
    pub act: Option<Consequences>,
    /// Two harvests side by side.
    pub years: Option<Years>,
    /// Farm against farm.
    pub hidden: Vec<HiddenFarm>,
    /// Tests that results come from.
    pub assays: Vec<AssaySource>,
    /// Surveys that densities come from.
    pub surveys: Vec<SurveySource>,
    /// Results of the fields up to the year.
    pub results: usize,
}

impl Content {
    /// Works out the content of a report.
    pub fn of(records: &Records, request: &ReportRequest, progress: &dyn Progress) -> Result<Self, Cancelled> {
        let fields = fields_of(records, request);
        let known = field_ratings(records, request.year);
        let history = History::of(records, request.year);
        let coming = season::coming(records, request.year);
        let due: BTreeMap<_, (usize, Due)> =
            crate::season::due(records, coming).into_iter().enumerate().map(|(at, due)| (due.field, (at, due))).collect();
        let lines = land::lines(records, coming, &fields, &known, &due);
        progress.check(0, 0)?;
        let wanted = |line: &&FieldLine| request.pages.as_ref().is_none_or(|pages| pages.contains(&line.id));
        let pages = if request.has(Part::Pages) {
            fields::pages(records, request.year, &lines, wanted, &known, progress)?
        } else {
            Vec::new()
        };
        let paged = pages.iter().filter_map(|page| lines.get(page.line)).map(|line| line.id).collect();
        let act =
            if request.has(Part::Act) { act::of(records, request.year, coming, &lines, &paged, progress)? } else { None };
        let mut farms: Vec<String> = fields.iter().map(|field| records.farm_name(field).to_owned()).collect();
        farms.dedup();
        let (assays, surveys, results) = sources::of(records, request.year, &fields);
        Ok(Self {
            year: request.year,
            project: records.settings.name.trim().to_owned(),
            farms,
            area_m2: lines.iter().map(|line| line.area_m2).sum(),
            classes: land::classes(lines.iter().map(|line| (line.worst, line.area_m2))),
            groups: land::groups(&lines),
            ages: land::ages(&lines, records.settings.retest_interval_years),
            interval: records.settings.retest_interval_years,
            worst: land::worst_first(&lines),
            changes: land::changes(&lines, &history),
            tested_once: land::tested_once(&lines, &history),
            season: season::plan(coming, &lines),
            pages,
            act,
            years: request
                .beside
                .filter(|_| request.has(Part::Years))
                .map(|beside| years::of(records, request, beside, &lines)),
            hidden: if request.has(Part::Farms) { farms::of(records, request, &known, &due) } else { Vec::new() },
            assays,
            surveys,
            results,
            lines,
        })
    }

    /// Fields with a rating.
    pub fn tested(&self) -> usize {
        self.lines.iter().filter(|line| line.worst.is_some()).count()
    }

    /// Fields of a rating; none: never tested.
    pub fn fields_rated(&self, rating: Option<Rating>) -> usize {
        self.classes.iter().find(|class| class.rating == rating).map_or(0, |class| class.fields)
    }
}

/// The fields a report is about: those of the year with a shape, by farm and name as people count.
pub fn fields_of(records: &Records, request: &ReportRequest) -> Vec<Arc<Field>> {
    let mut fields = records.fields_in(request.year);
    fields.retain(|field| request.fields.as_ref().is_none_or(|wanted| wanted.contains(&field.id)));
    fields.retain(|field| crate::geometry::bounds(&field.boundary).is_some());
    fields
}
