//! What a laboratory is told of a sample: where it came from, what it stands for, what grew there and what was sprayed; and what of
//! that is not known.
//!
//! What is asked for is common practice (no source seen in full): sample, field, grid reference, crop, area, share of the field,
//! species, tests wanted, herbicide and cropping history of 5 to 10 years.

use std::collections::BTreeSet;
use std::sync::Arc;

use geo::Coord;
use jiff::civil::Date;

use crate::crs::PlaceNames;
use crate::geometry;
use crate::model::{AssayKind, FieldId, Records, Sample, Spray, mode_of_group};
use crate::samples::{Species, species};
use crate::units::{M2_PER_HA, count};

/// One herbicide pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// The day, if known.
    pub date: Option<Date>,
    /// Active ingredient.
    pub active: String,
    /// HRAC group.
    pub group: String,
    /// What it hits, empty if not known.
    pub mode: &'static str,
    /// g of active a hectare.
    pub dose_g_per_ha: Option<f64>,
    /// Growth stage of the crop or weed, as noted.
    pub growth_stage: String,
    /// What was seen of its effect.
    pub effect: String,
}

/// One harvest of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct HistoryYear {
    /// Harvest year.
    pub year: i32,
    /// What grew, if known.
    pub crop: Option<String>,
    /// When it was drilled.
    pub drilled: Option<Date>,
    /// Herbicide passes by day.
    pub passes: Vec<Pass>,
}

/// All that is told of a sample.
#[derive(Debug, Clone)]
pub struct Submission {
    /// The sample.
    pub sample: Arc<Sample>,
    /// Its farm.
    pub farm: String,
    /// Its field.
    pub field: String,
    /// Business of the farm; may be empty.
    pub business: String,
    /// The weed.
    pub species: Species,
    /// Middle of the field, degrees.
    pub place: Option<Coord<f64>>,
    /// The same as a grid reference.
    pub grid_reference: Option<String>,
    /// Area of the field, ha.
    pub area_ha: f64,
    /// The harvest sampled and those before, latest first.
    pub history: Vec<HistoryYear>,
    /// What is not known and should be, one sentence each.
    pub gaps: Vec<String>,
}

impl Submission {
    /// What grew in the harvest sampled.
    pub fn crop(&self) -> Option<&str> {
        self.history.first().and_then(|year| year.crop.as_deref())
    }

    /// The tests wanted, in words.
    pub fn tests(&self) -> String {
        let word = |test: &AssayKind| match test {
            AssayKind::Petri => "petri dish",
            AssayKind::Pot => "pot",
        };
        let kinds: Vec<&str> = self.sample.tests.iter().map(word).collect();
        match (kinds.is_empty(), self.sample.actives.trim()) {
            (true, actives) => actives.to_owned(),
            (false, "") => kinds.join(" and "),
            (false, actives) => format!("{}: {actives}", kinds.join(" and ")),
        }
    }
}

/// Gathers what is told of a sample, with the history of so many harvests.
pub fn submission(records: &Records, sample: &Arc<Sample>, years: i32) -> Submission {
    let field = records.fields.get(&sample.field);
    let place = field.and_then(|field| geometry::label_point(&field.boundary));
    let history = (0..years.clamp(1, 30)).map(|ago| year_of(records, sample.field, sample.year - ago)).collect();
    let mut told = Submission {
        sample: Arc::clone(sample),
        farm: field.map_or_else(String::new, |field| records.farm_name(field).to_owned()),
        field: field.map_or_else(|| "unknown field".to_owned(), |field| field.name.clone()),
        business: field.and_then(|f| records.farms.get(&f.farm)).map_or_else(String::new, |farm| farm.business.clone()),
        species: species(&sample.species),
        place,
        grid_reference: place.and_then(|place| PlaceNames::default().name(place)),
        area_ha: field.map_or(0.0, |field| field.area_m2() / M2_PER_HA),
        history,
        gaps: Vec::new(),
    };
    told.gaps = gaps(&told);
    told
}

/// The field and those it was split or merged from.
fn lineage(records: &Records, field: FieldId) -> BTreeSet<FieldId> {
    let mut known = BTreeSet::new();
    let mut open = vec![field];
    while let Some(id) = open.pop() {
        if known.insert(id)
            && let Some(field) = records.fields.get(&id)
        {
            open.extend(&field.came_from);
        }
    }
    known
}

fn year_of(records: &Records, field: FieldId, year: i32) -> HistoryYear {
    let land: BTreeSet<FieldId> = lineage(records, field)
        .into_iter()
        .filter(|id| records.fields.get(id).is_some_and(|field| field.exists_in(year)))
        .collect();
    let crops: Vec<_> = records.crops.values().filter(|crop| crop.year == year && land.contains(&crop.field)).collect();
    let mut names: Vec<&str> = crops.iter().map(|crop| crop.crop.trim()).filter(|crop| !crop.is_empty()).collect();
    names.dedup();
    let mut passes: Vec<Pass> =
        records.sprays.values().filter(|spray| spray.year == year && land.contains(&spray.field)).map(|s| pass(s)).collect();
    passes.sort_by(|a, b| (a.date, &a.active).cmp(&(b.date, &b.active)));
    passes.dedup();
    HistoryYear {
        year,
        crop: (!names.is_empty()).then(|| names.join(" / ")),
        drilled: crops.iter().filter_map(|crop| crop.drilled).min(),
        passes,
    }
}

fn pass(spray: &Spray) -> Pass {
    Pass {
        date: spray.date,
        active: spray.active.clone(),
        group: spray.group.clone(),
        mode: mode_of_group(&spray.group).map_or("", |mode| mode.name),
        dose_g_per_ha: spray.dose_g_per_ha,
        growth_stage: spray.growth_stage.clone(),
        effect: spray.effect.clone(),
    }
}

fn gaps(told: &Submission) -> Vec<String> {
    let sample = &told.sample;
    let mut list = Vec::new();
    let mut gap = |is: bool, what: String| {
        if is {
            list.push(what);
        }
    };
    gap(sample.taken.is_none(), "The day it was taken.".to_owned());
    let by = sample.events.iter().find(|event| event.stage == crate::model::Stage::Collected).map(|event| &event.person);
    gap(by.is_none_or(|person| person.trim().is_empty()), "Who took it.".to_owned());
    gap(sample.tests.is_empty() && sample.actives.trim().is_empty(), "Which tests are wanted.".to_owned());
    gap(sample.mugs.is_none(), "How much seed it is.".to_owned());
    gap(sample.shed_percent.is_none(), "How much had shed when it was taken.".to_owned());
    gap(sample.stands_for_percent.is_none(), "What share of the field the sampled plants stand for.".to_owned());
    gap(told.grid_reference.is_none(), "The grid reference: the field lies where no grid is known.".to_owned());
    let years = |is: &dyn Fn(&HistoryYear) -> bool| -> String {
        told.history.iter().filter(|year| is(year)).map(|year| year.year.to_string()).collect::<Vec<_>>().join(", ")
    };
    let no_crop = years(&|year| year.crop.is_none());
    gap(!no_crop.is_empty(), format!("What grew for harvest {no_crop}."));
    let no_spray = years(&|year| year.passes.is_empty());
    gap(!no_spray.is_empty(), format!("What was sprayed for harvest {no_spray}, or that nothing was."));
    let passes: Vec<&Pass> = told.history.iter().flat_map(|year| &year.passes).collect();
    let missing = |is: &dyn Fn(&&&Pass) -> bool| passes.iter().filter(is).count();
    for (without, what) in [
        (missing(&|pass| pass.date.is_none()), "The day"),
        (missing(&|pass| pass.dose_g_per_ha.is_none()), "The dose"),
        (missing(&|pass| pass.growth_stage.trim().is_empty()), "The growth stage"),
        (missing(&|pass| pass.effect.trim().is_empty()), "How well it worked"),
    ] {
        gap(without > 0, format!("{what}, for {} of {}.", without, count(passes.len(), "spray")));
    }
    list
}
