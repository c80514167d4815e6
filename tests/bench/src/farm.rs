//! All fields of a project.

use std::path::Path;

use awn_core::model::FieldId;
use awn_core::progress::Quiet;
use awn_core::project::Project;
use awn_core::stops;
use rayon::prelude::*;

use crate::{on_threads, timed};

/// Plans every field of a project on two cores, with the project's own settings, for the year after its latest survey.
pub fn all_fields(path: &Path) {
    let project = Project::open(path).expect("a project");
    let records = project.records();
    let latest = records.surveys.values().map(|survey| survey.harvest_year()).max();
    let year = latest.map_or(2027, |year| year + 1);
    let fields: Vec<FieldId> = records.fields.keys().copied().collect();
    let propose = |field: &FieldId| stops::propose(records, *field, year, &records.settings.plan, &Quiet);
    if std::env::var_os("EACH").is_some() {
        for field in &fields {
            let start = std::time::Instant::now();
            let plan = propose(field);
            let Ok(plan) = plan else { continue };
            let name = &records.fields[field].name;
            println!(
                "{name}: {:.3} s, {} stops, B {:.4}, hold {:?}",
                start.elapsed().as_secs_f64(),
                plan.stops.len(),
                plan.figures.balance,
                plan.patches_hold
            );
        }
    }
    let work = || fields.par_iter().map(propose).filter(Result::is_ok).count();
    let (seconds, planned) = on_threads(2, || timed(3, work));
    println!("{} fields of the project on two cores: {seconds:.2} s (asked: 2), {planned} planned", fields.len());
}
