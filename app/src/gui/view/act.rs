//! What the Act lens shows, and what is being typed, pasted or changed in it. Nothing here is stored in the project.

use std::path::PathBuf;
use std::sync::Arc;

use awn_core::exchange::{Treatment, TreatmentPreview, TreatmentSource};
use awn_core::model::{FieldId, Programme, ProgrammeId, Record};

/// Part of the lens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ActTab {
    /// Control left and money at risk.
    #[default]
    Money,
    /// The programmes.
    Programmes,
    /// What was grown and sprayed.
    History,
    /// From the cleanest field to the worst.
    Order,
    /// The coming years.
    Years,
    /// Patches before seed sheds.
    Patches,
}

impl ActTab {
    /// Every part.
    pub const ALL: [Self; 6] = [Self::Money, Self::Programmes, Self::History, Self::Order, Self::Years, Self::Patches];

    /// Whether it shows what lies ahead.
    pub fn looks_ahead(self) -> bool {
        matches!(self, Self::Years | Self::Patches)
    }

    /// What it is called.
    pub fn label(self) -> &'static str {
        match self {
            Self::Money => "Control and money",
            Self::Programmes => "Programmes",
            Self::History => "Uses",
            Self::Order => "Order",
            Self::Years => "Coming years",
            Self::Patches => "Patches",
        }
    }
}

/// The state of the lens.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ActView {
    /// Part on show.
    pub tab: ActTab,
    /// The programme whose steps are shown.
    pub open: Option<ProgrammeId>,
    /// The HRAC group whose uses are counted; none: every one is named.
    pub mode: Option<String>,
    /// The programme being changed.
    pub draft: Option<Draft>,
    /// The spray or crop being typed.
    pub entry: Option<Entry>,
    /// The table being read.
    pub table: Option<TableForm>,
}

/// A programme as it is typed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draft {
    /// The programme it changes; none: a new one.
    pub id: Option<ProgrammeId>,
    /// Name.
    pub name: String,
    /// Crop.
    pub crop: String,
    /// Notes.
    pub note: String,
    /// Timing, active, dose, control, cost.
    pub steps: Vec<[String; 5]>,
    /// What was wrong when it was to be kept.
    pub wrong: Vec<String>,
}

impl Draft {
    /// A new programme with one empty step.
    pub fn new() -> Self {
        Self { steps: vec![Default::default()], ..Self::default() }
    }

    /// A programme as it would be typed.
    pub fn of(programme: &Programme) -> Self {
        let step = |step: &awn_core::model::ProgrammeStep| {
            let control = step.control;
            let figures = if control.low < control.high {
                format!("{}-{}-{}", control.low, control.likely, control.high)
            } else {
                control.likely.to_string()
            };
            let dose = step.dose_g_per_ha.map_or_else(String::new, |dose| format!("{dose} g/ha"));
            [step.timing.clone(), step.active.clone(), dose, figures, step.cost_per_ha.to_string()]
        };
        Self {
            id: Some(programme.id),
            name: programme.name.clone(),
            crop: programme.crop.clone(),
            note: programme.note.clone(),
            steps: programme.steps.iter().map(step).collect(),
            wrong: Vec::new(),
        }
    }
}

/// A spray or crop as it is typed: heading and text.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Spray or crop.
    pub kind: Treatment,
    /// Lines in the order they are asked for.
    pub lines: Vec<(&'static str, String)>,
    /// The record whose place it takes; none: a new one.
    pub instead: Option<Record>,
    /// What was wrong when it was to be kept.
    pub wrong: Vec<String>,
}

impl Entry {
    /// A spray or crop as it would be typed; none: another kind of record. `field`: farm/field.
    pub fn of(record: &Record, field: &str) -> Option<Self> {
        let day = |day: Option<jiff::civil::Date>| day.map_or_else(String::new, |day| day.to_string());
        let (kind, year, texts): (_, i32, Vec<(&str, String)>) = match record {
            Record::Spray(spray) => {
                let dose = spray.dose_g_per_ha.map_or_else(String::new, |dose| format!("{dose} g/ha"));
                let cost = spray.cost_per_ha.map_or_else(String::new, |cost| cost.to_string());
                let texts = vec![
                    ("date", day(spray.date)),
                    ("active", spray.active.clone()),
                    ("hrac_group", spray.group.clone()),
                    ("dose", dose),
                    ("growth_stage", spray.growth_stage.clone()),
                    ("cost_per_ha", cost),
                    ("effect", spray.effect.clone()),
                ];
                (Treatment::Sprays, spray.year, texts)
            }
            Record::Crop(crop) => {
                let (name, cultivation) = (crop.crop.clone(), crop.cultivation.clone());
                let texts = vec![("crop", name), ("drilled", day(crop.drilled)), ("cultivation", cultivation)];
                (Treatment::Crops, crop.year, texts)
            }
            _ => return None,
        };
        let mut entry = Self { instead: Some(record.clone()), ..Self::new(kind, Some(field), year) };
        for (heading, text) in texts {
            match entry.lines.iter_mut().find(|(held, _)| *held == heading) {
                Some((_, held)) => *held = text,
                // An active that the table of modes does not hold keeps its group.
                None => entry.lines.extend(kind.headings().find(|own| *own == heading).map(|own| (own, text))),
            }
        }
        Some(entry)
    }

    /// An empty entry for a field (farm/field) and harvest year.
    pub fn new(kind: Treatment, field: Option<&str>, year: i32) -> Self {
        let asked = kind.headings().filter(|heading| !matches!(*heading, "farm" | "unit" | "hrac_group"));
        let lines = asked.map(|heading| {
            let text = match heading {
                "field" => field.unwrap_or_default().to_owned(),
                "year" => year.to_string(),
                _ => String::new(),
            };
            (heading, text)
        });
        Self { kind, lines: lines.collect(), instead: None, wrong: Vec::new() }
    }
}

/// A table that is pasted or read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct TableForm {
    /// What it holds.
    pub kind: Treatment,
    /// The file; none: pasted.
    pub file: Option<PathBuf>,
    /// What was pasted.
    pub text: String,
    /// Harvest year of all rows.
    pub year: String,
    /// Unit of all doses.
    pub unit: String,
    /// Columns that were given a heading by hand: column, heading.
    pub columns: Vec<(String, String)>,
    /// What it would be read as, with what it was looked at with.
    pub looked_at: Option<(TableKey, Arc<TreatmentPreview>)>,
}

/// What a preview hangs on.
pub type TableKey = (Treatment, String, Vec<(String, String)>);

impl TableForm {
    /// A form for a file, or for text to be pasted.
    pub fn new(kind: Treatment, file: Option<PathBuf>) -> Self {
        let (text, year, unit) = (String::new(), String::new(), String::new());
        Self { kind, file, text, year, unit, columns: Vec::new(), looked_at: None }
    }

    /// Where the table comes from.
    pub fn source(&self) -> TreatmentSource {
        match &self.file {
            Some(file) => TreatmentSource::File(file.clone()),
            None => TreatmentSource::Text(self.text.clone()),
        }
    }

    /// What the columns are to be read as.
    pub fn mapping(&self) -> Vec<(String, String)> {
        let mut map = self.columns.clone();
        for (value, heading) in [(&self.year, "year"), (&self.unit, "unit")] {
            let known = self.kind.headings().any(|own| own == heading);
            if known && !value.trim().is_empty() {
                map.push((format!("={}", value.trim()), heading.to_owned()));
            }
        }
        map
    }

    /// What its preview hangs on.
    pub fn key(&self) -> TableKey {
        (self.kind, self.text.clone(), self.mapping())
    }

    /// Whether there is something to read.
    pub fn is_filled(&self) -> bool {
        self.file.is_some() || !self.text.trim().is_empty()
    }
}

/// What the panels of the lens ask for.
#[derive(Debug, Clone)]
#[allow(missing_docs)]
pub enum ActRequest {
    /// Change what the lens shows.
    Show(Box<ActView>),
    /// Keep the spray or crop that was typed.
    KeepEntry,
    /// Read the table.
    KeepTable,
    /// Keep the programme that was typed.
    KeepDraft,
    /// Take a spray or crop away.
    Forget(Box<Record>),
    /// Keep a copy of a programme.
    Copy(ProgrammeId),
    Remove(ProgrammeId),
    /// Put a programme on fields, or none; with measures, those besides.
    Put {
        fields: Vec<FieldId>,
        programme: Option<ProgrammeId>,
        measures: Option<Vec<String>>,
    },
    /// Sign or code of money.
    Currency(String),
}
