//! What follows from the planned programmes and for the coming years, as the Act lens has it.

use std::collections::{BTreeMap, BTreeSet};

use crate::act::outlook::{self, Ask, FieldOutlook, MOST_SCENARIOS, MOST_YEARS, OutlookError};
use crate::act::{self, Checks, Uses};
use crate::model::{FieldId, Records};
use crate::problem::Problems;
use crate::progress::{Cancelled, Progress};
use crate::report::content::land::FieldLine;

/// Harvests that uses of modes of action look back, as in the window.
const LOOKED_BACK: i32 = 8;

/// Consequences for the fields of a report.
#[derive(Debug, Clone, PartialEq)]
pub struct Consequences {
    /// Harvest of the programmes, and the first of the coming years.
    pub year: i32,
    /// Sign or code of money.
    pub currency: String,
    /// Planned programmes against the latest tests, most money at risk first.
    pub checks: Checks,
    /// Uses of modes of action before that harvest, of fields with a page.
    pub uses: BTreeMap<FieldId, Uses>,
    /// The coming years of fields with a page and a density.
    pub ahead: BTreeMap<FieldId, FieldOutlook>,
}

/// The consequences for the fields of `lines`; `paged`: those with a page. The harvest is the coming season's, or if nothing is
/// planned for it, `year`. None if there is neither a programme nor a scenario to speak of.
pub(super) fn of(
    records: &Records,
    year: i32,
    coming: i32,
    lines: &[FieldLine],
    paged: &BTreeSet<FieldId>,
    progress: &dyn Progress,
) -> Result<Option<Consequences>, Cancelled> {
    let ids: BTreeSet<FieldId> = lines.iter().map(|line| line.id).collect();
    let planned = |harvest: i32| {
        let mut all = records.field_programmes.values();
        all.any(|planned| planned.year == harvest && planned.programme.is_some() && ids.contains(&planned.field))
    };
    let year = if planned(coming) || !planned(year) { coming } else { year };
    let checks = act::check(records, year, None, Some(&ids));
    let ahead = ahead(records, year, paged, progress)?;
    if checks.fields.is_empty() && ahead.is_empty() {
        return Ok(None);
    }
    let uses = paged.iter().map(|field| (*field, act::uses(records, *field, year - LOOKED_BACK, year - 1))).collect();
    Ok(Some(Consequences { year, currency: records.settings.act.currency.clone(), checks, uses, ahead }))
}

/// The coming years under the first scenarios of the project, as many as can be compared.
fn ahead(
    records: &Records,
    year: i32,
    paged: &BTreeSet<FieldId>,
    progress: &dyn Progress,
) -> Result<BTreeMap<FieldId, FieldOutlook>, Cancelled> {
    let scenarios: Vec<_> = records.scenarios.values().take(MOST_SCENARIOS).cloned().collect();
    if scenarios.is_empty() || paged.is_empty() {
        return Ok(BTreeMap::new());
    }
    let fields = records.fields_in(year).into_iter().filter(|field| paged.contains(&field.id)).collect();
    let ask = Ask { fields, scenarios, first_harvest: year, years: MOST_YEARS, start: None };
    // Fields without a density are left out, and the page says nothing of their coming years.
    match outlook::for_records(records, &ask, &mut Problems::new(), progress) {
        Err(OutlookError::Cancelled(cancelled)) => Err(cancelled),
        Err(_) => Ok(BTreeMap::new()),
        Ok(found) => Ok(found.into_iter().flatten().map(|one| (one.field, one)).collect()),
    }
}
