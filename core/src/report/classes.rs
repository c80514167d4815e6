//! What each field is on the map: its class, what is drawn over the class's colour, and the letter or number in the field.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::model::{Field, FieldId, Records};
use crate::rating::{FieldRatings, History, field_ratings};
use crate::report::palette::{self, Rgb};
use crate::report::{Colouring, MapRequest, act_key, density_key, rating_key, stage_key};
use crate::season;

/// What is drawn over a class's colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Nothing.
    Nothing,
    /// A fine stipple: knowledge that gets old.
    Stipple,
    /// Close diagonal hatching: knowledge past the interval.
    Hatch,
    /// Wide diagonal hatching: nothing known.
    WideHatch,
    /// Level lines, the closer the higher the number, 0 to 4: the class once more, where a view asks for patterns.
    Rows(u8),
}

/// A row of the legend.
#[derive(Debug, Clone)]
pub struct Class {
    /// Letter or number of the class, as on the fields.
    pub mark: String,
    /// The class in words.
    pub label: String,
    /// Fill.
    pub colour: Rgb,
    /// What is drawn over the fill.
    pub over: Over,
    /// Whether the outline is dotted.
    pub dotted: bool,
    /// Fields in the class.
    pub fields: usize,
    /// Land in the class, m2.
    pub area_m2: f64,
}

impl Class {
    /// A class that no field is in yet.
    pub fn new(mark: impl Into<String>, label: impl Into<String>, colour: Rgb, over: Over) -> Self {
        Self { mark: mark.into(), label: label.into(), colour, over, dotted: false, fields: 0, area_m2: 0.0 }
    }
}

/// How one field is drawn.
#[derive(Debug)]
pub struct Look {
    /// Its class, by number.
    pub class: usize,
    /// Fill.
    pub colour: Rgb,
    /// What is drawn over the fill.
    pub over: Over,
    /// Letter or number in the field.
    pub mark: String,
}

/// Classes, fields and words of a map.
#[derive(Debug)]
pub struct Key {
    /// What the colours show.
    pub heading: String,
    /// Heading of the legend's count of fields.
    pub count_heading: &'static str,
    /// Classes, worst first.
    pub classes: Vec<Class>,
    /// What stipple and hatching over a colour mean.
    pub overlays: Vec<(Over, String)>,
    /// How each field is drawn.
    pub looks: BTreeMap<FieldId, Look>,
    /// Density surfaces of the fields that have one.
    pub surfaces: BTreeMap<FieldId, crate::density::Surface>,
    /// What the map was made from and of when it is.
    pub sources: Vec<String>,
}

impl Key {
    pub(super) fn new(heading: &str, classes: Vec<Class>) -> Self {
        Self {
            heading: heading.to_owned(),
            count_heading: "fields",
            classes,
            overlays: Vec::new(),
            looks: BTreeMap::new(),
            surfaces: BTreeMap::new(),
            sources: Vec::new(),
        }
    }

    /// Gives every class that occurs and has no pattern level lines besides, the lowest the widest: for eyes that tell no colours.
    pub(super) fn add_rows(&mut self) {
        let plain = |class: &Class| class.over == Over::Nothing && class.fields > 0;
        let ranks: Vec<usize> = (0..self.classes.len()).rev().filter(|number| plain(&self.classes[*number])).collect();
        for (rank, class) in ranks.iter().enumerate() {
            let rows = Over::Rows(rank.min(4) as u8);
            self.classes[*class].over = rows;
            for look in self.looks.values_mut().filter(|look| look.class == *class && look.over == Over::Nothing) {
                look.over = rows;
            }
        }
    }

    /// Puts a field in a class and counts it and its land there.
    pub(super) fn put(&mut self, field: &Field, class: usize, over: Over, mark: String) {
        self.classes[class].fields += 1;
        self.classes[class].area_m2 += field.area_m2();
        let colour = self.classes[class].colour;
        self.looks.insert(field.id, Look { class, colour, over, mark });
    }

    /// Leaves out classes in which no field is.
    pub(super) fn drop_empty(&mut self) {
        let mut number = 0;
        let kept: Vec<Option<usize>> = self
            .classes
            .iter()
            .map(|class| {
                (class.fields > 0).then(|| {
                    number += 1;
                    number - 1
                })
            })
            .collect();
        self.classes.retain(|class| class.fields > 0);
        for look in self.looks.values_mut() {
            look.class = kept[look.class].unwrap_or(0);
        }
    }
}

/// Classes and looks of the fields for a colouring. `cell_m`: side of density cells that can be told apart on paper.
pub fn key(records: &Records, request: &MapRequest, fields: &[Arc<Field>], cell_m: f64) -> Key {
    // Ratings of every field cost more than a map of one field; only maps about them work them out.
    match request.colouring {
        Colouring::Plain | Colouring::Expected => return plain(fields),
        Colouring::Stage => return stage_key::stages(records, request.year, fields),
        Colouring::Density => {
            return density_key::key(records, request.year, fields, cell_m, density_key::Shown::Density);
        }
        Colouring::Uncertainty => {
            return density_key::key(records, request.year, fields, cell_m, density_key::Shown::StandardError);
        }
        _ => {}
    }
    let known = field_ratings(records, request.year);
    let history = || History::of(records, request.year);
    let mut key = match request.colouring {
        Colouring::Rating => rating_key::ratings(&history(), &request.of, fields),
        Colouring::RatingAndAge => rating_key::ratings_and_ages(records, request.year, &history(), &request.of, fields),
        Colouring::Change => rating_key::changes(&history(), &request.of, fields),
        Colouring::Age => ages(records, &known, fields),
        Colouring::ControlLeft | Colouring::AtRisk => {
            return act_key::key(records, request.year, request.colouring, fields);
        }
        _ => due(records, request.year, &known, fields),
    };
    key.sources = test_sources(records, request.year, &known, fields);
    key
}

/// Fields without a class, for maps that are about what lies in them.
fn plain(fields: &[Arc<Field>]) -> Key {
    let mut key = Key::new("Fields", vec![Class::new("", "field", palette::RAISED, Over::Nothing)]);
    for field in fields {
        key.put(field, 0, Over::Nothing, String::new());
    }
    key
}

fn ages(records: &Records, known: &BTreeMap<FieldId, FieldRatings>, fields: &[Arc<Field>]) -> Key {
    let interval = records.settings.retest_interval_years.max(1);
    let shown = interval.min(5);
    let mut classes = vec![Class::new("never", "never tested", palette::GROUND, Over::WideHatch)];
    let mut past =
        Class::new(format!("{interval}+"), format!("{interval} or more harvests ago"), palette::AGE[5], Over::Nothing);
    past.dotted = true;
    classes.push(past);
    for age in (0..shown).rev() {
        let (mark, label) = match age {
            0 => ("0".to_owned(), "this harvest".to_owned()),
            4 if interval > 5 => (format!("4-{}", interval - 1), format!("4 to {} harvests ago", interval - 1)),
            1 => ("1".to_owned(), "1 harvest ago".to_owned()),
            _ => (age.to_string(), format!("{age} harvests ago")),
        };
        classes.push(Class::new(mark, label, palette::AGE[age as usize], Over::Nothing));
    }
    let mut key = Key::new("Last test", classes);
    for field in fields {
        match known.get(&field.id).and_then(|ratings| ratings.years_since_test) {
            None => key.put(field, 0, Over::WideHatch, "never".to_owned()),
            Some(age) if age >= interval => key.put(field, 1, Over::Nothing, age.to_string()),
            Some(age) => {
                let class = 2 + (shown - 1 - age.clamp(0, shown - 1)) as usize;
                key.put(field, class, Over::Nothing, age.to_string());
            }
        }
    }
    key
}

fn due(records: &Records, year: i32, known: &BTreeMap<FieldId, FieldRatings>, fields: &[Arc<Field>]) -> Key {
    let classes = vec![
        Class::new("1, 2, …", "due, never tested", palette::DUE, Over::WideHatch),
        Class::new("1, 2, …", "due, last test too old", palette::DUE, Over::Nothing),
        Class::new("1, 2, …", "due, for another reason", palette::DUE, Over::Hatch),
        Class::new("later", "not due this year", palette::RAISED, Over::Nothing),
    ];
    let mut key = Key::new("Due a test; numbers: most urgent first", classes);
    let mut rank = 0;
    for due in season::due(records, year) {
        let Some(field) = fields.iter().find(|field| field.id == due.field) else { continue };
        let tested = known.get(&field.id).is_some_and(|ratings| ratings.last_test_year.is_some());
        if !due.due {
            let mark = if due.is_vetoed() { "veto" } else { "later" };
            key.put(field, 3, Over::Nothing, mark.to_owned());
            continue;
        }
        rank += 1;
        let class = match due.age {
            _ if !tested => 0,
            Some(age) if age < records.settings.retest_interval_years => 2,
            _ => 1,
        };
        key.put(field, class, key.classes[class].over, rank.to_string());
    }
    for field in fields {
        if !key.looks.contains_key(&field.id) {
            key.put(field, 3, Over::Nothing, "no longer".to_owned());
        }
    }
    key
}

fn test_sources(
    records: &Records,
    year: i32,
    known: &BTreeMap<FieldId, FieldRatings>,
    fields: &[Arc<Field>],
) -> Vec<String> {
    let last: Vec<i32> = fields.iter().filter_map(|field| known.get(&field.id)?.last_test_year).collect();
    let samples = records.samples.values().filter(|sample| sample.year <= year);
    let of: std::collections::BTreeSet<_> = samples.map(|sample| sample.id).collect();
    let results = records.results.values().filter(|result| of.contains(&result.sample)).count();
    let (Some(oldest), Some(newest)) = (last.iter().min(), last.iter().max()) else {
        return vec!["No field on this map has a test result.".to_owned()];
    };
    let interval = records.settings.retest_interval_years;
    let by_laboratory = |field: &&Arc<Field>| {
        known.get(&field.id).is_some_and(|known| known.groups.values().any(|group| group.by.is_laboratory()))
    };
    let taken_over = fields.iter().filter(by_laboratory).count();
    let old = last.iter().filter(|last| year - **last >= interval).count();
    let mut lines = vec![
        format!("From {results} test results in the project; last tests of these fields: {oldest} to {newest}."),
        format!(
            "Age of what is known for harvest {year}: {old} of {} fields tested {interval} or more harvests ago, {} never.",
            fields.len(),
            fields.len() - last.len()
        ),
    ];
    if taken_over > 0 {
        let fields = crate::units::count(taken_over, "field");
        lines.push(format!(
            "In {fields} a rating is the laboratory's own (lab), not worked out by us: its figures are not known."
        ));
    }
    lines
}
