//! The form that stands between choosing a file and reading it: what it is, and what the file does not say itself.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use awn_core::crs::Crs;
use awn_core::exchange::{
    self, BoundaryColumns, BoundaryOptions, FileOptions, PlaceColumns, ScoutingOptions, TramlineOptions, WalkedOptions,
};
use awn_core::formats::Letters;
use awn_core::model::{DensityUnit, SurveyKind};
use jiff::civil::Date;

use crate::gui::view::import_preview::Preview;

/// What a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum ImportKind {
    Boundaries,
    Gates,
    Tramlines,
    NoGo,
    Scouting,
    Results,
    Walk,
}

impl ImportKind {
    /// All kinds.
    pub const ALL: [Self; 7] =
        [Self::Boundaries, Self::Gates, Self::Tramlines, Self::NoGo, Self::Scouting, Self::Results, Self::Walk];

    /// The word for it inside a sentence.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Boundaries => "boundaries",
            Self::Gates => "gates",
            Self::Tramlines => "tramlines",
            Self::NoGo => "no-go areas",
            Self::Scouting => "scouting",
            Self::Results => "results",
            Self::Walk => "a track of the day",
        }
    }

    /// The word for it on a button.
    pub fn label(self) -> &'static str {
        match self {
            Self::Boundaries => "Boundaries",
            Self::Gates => "Gates",
            Self::Tramlines => "Tramlines",
            Self::NoGo => "No-go areas",
            Self::Scouting => "Scouting",
            Self::Results => "Results",
            Self::Walk => "A walk as walked",
        }
    }
}

/// Columns of a results table and the headings they are read as.
pub type Mapping = Vec<(String, String)>;

/// What was filled in. Texts are as typed; [`ImportForm::checked`] makes values of them.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)]
pub struct ImportForm {
    pub file: PathBuf,
    pub kind: ImportKind,
    pub farm: String,
    /// Which columns of a boundary file hold what, where that was said.
    pub said: BoundaryColumns,
    /// Which columns of a table hold where its points lie, where that was said.
    pub place: PlaceColumns,
    /// Unit of stated areas; empty: by heading, or by what fits.
    pub area_unit: String,
    /// Whether the densities of a boundary file are in [`unit`](Self::unit), or as their heading says.
    pub unit_said: bool,
    /// Encoding of the texts; empty: as the file says.
    pub encoding: String,
    /// Column of scouting with the day of each row.
    pub date_column: String,
    pub layer: String,
    /// Harvest year: from which boundaries hold, or of all rows of a results table.
    pub year: String,
    pub close_missing: bool,
    /// What the file would bring, once looked at; gone when anything is filled in anew.
    pub preview: Option<Arc<Preview>>,
    /// What it brought when last looked at, for its columns.
    pub seen: Option<Arc<Preview>>,
    pub crs: String,
    pub bearing: String,
    pub spacing: String,
    pub date: String,
    pub survey: SurveyKind,
    pub unit: DensityUnit,
    pub value_column: String,
    pub frame: String,
    pub renamed: String,
    /// Columns of a results table that were given a meaning by hand: column, heading.
    pub columns: Vec<(String, String)>,
    /// Kind of test of all rows of a results table.
    pub assay: String,
    /// The sheet of a workbook that is read; empty: the one that is understood best.
    pub sheet: String,
    /// Codes of a results table that stand for known ones: code in the file, known code.
    pub same: Vec<(String, String)>,
    /// Who walked.
    pub person: String,
    /// What a results table would be read as, with the mapping it was looked at with.
    pub looked_at: Option<(Mapping, Arc<exchange::Preview>)>,
    /// The mapping with which it is being looked at.
    pub looking: Option<Mapping>,
}

/// What the core is to be told.
#[derive(Debug, Clone)]
#[allow(missing_docs)]
pub enum Checked {
    Boundaries(BoundaryOptions),
    Gates(FileOptions),
    Tramlines(TramlineOptions),
    NoGo(FileOptions),
    Scouting(ScoutingOptions),
    Results(Vec<(String, String)>),
    Walk(WalkedOptions),
}

impl ImportForm {
    /// A form for a file; the kind is guessed if it is not given.
    pub fn new(file: PathBuf, kind: Option<ImportKind>) -> Self {
        let clue = clue(&file);
        let kind = kind.unwrap_or_else(|| guess(&file, &clue));
        let zones = clue.areas;
        Self {
            kind,
            farm: String::new(),
            said: BoundaryColumns::default(),
            place: PlaceColumns::default(),
            area_unit: String::new(),
            unit_said: false,
            encoding: String::new(),
            date_column: String::new(),
            layer: String::new(),
            year: String::new(),
            close_missing: false,
            preview: None,
            seen: None,
            crs: String::new(),
            bearing: String::new(),
            spacing: if kind == ImportKind::Boundaries { "24".into() } else { String::new() },
            date: date_in(&file).unwrap_or_default(),
            survey: match ending(&file).as_str() {
                "tif" | "tiff" | "asc" => SurveyKind::Raster,
                _ if zones => SurveyKind::Zones,
                _ => SurveyKind::Points,
            },
            unit: clue.unit.unwrap_or(if zones { DensityUnit::Class } else { DensityUnit::HeadsPerM2 }),
            value_column: String::new(),
            frame: String::new(),
            renamed: String::new(),
            columns: Vec::new(),
            assay: String::new(),
            sheet: String::new(),
            same: Vec::new(),
            person: String::new(),
            looked_at: None,
            looking: None,
            file,
        }
    }

    /// The file's name.
    pub fn file_name(&self) -> String {
        self.file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// The values, or the sentence that says what is missing.
    pub fn checked(&self) -> Result<Checked, String> {
        Ok(match self.kind {
            ImportKind::Boundaries => Checked::Boundaries(BoundaryOptions {
                farm: text(&self.farm),
                crs: self.crs()?,
                columns: self.said.clone(),
                area_unit: text(&self.area_unit).map(|unit| unit.parse()).transpose()?,
                density_unit: self.unit_said.then_some(self.unit),
                date: if self.date.trim().is_empty() { None } else { Some(self.date()?) },
                letters: self.letters()?,
                layer: text(&self.layer),
                year: number(&self.year, "The harvest year", "such as 2026")?.map(|year| year as i32),
                close_missing: self.close_missing,
                tramline_bearing_deg: number(&self.bearing, "The bearing", "such as 35")?,
                tramline_spacing_m: number(&self.spacing, "The spacing", "such as 24")?,
            }),
            ImportKind::Gates => Checked::Gates(self.of_file()?),
            ImportKind::Tramlines => Checked::Tramlines(TramlineOptions {
                spacing_m: number(&self.spacing, "The spacing", "such as 24")?,
                headland_m: None,
                file: self.of_file()?,
            }),
            ImportKind::NoGo => Checked::NoGo(self.of_file()?),
            ImportKind::Scouting => Checked::Scouting(ScoutingOptions {
                value_column: text(&self.value_column),
                frame_m2: number(&self.frame, "The size of the frame", "such as 0.25")?,
                date_column: text(&self.date_column),
                file: self.of_file()?,
                ..ScoutingOptions::new(
                    if self.date_column.trim().is_empty() { self.date()? } else { Date::default() },
                    self.survey,
                    self.unit,
                )
            }),
            ImportKind::Results => Checked::Results(self.mapping()?),
            ImportKind::Walk => {
                let year = number(&self.year, "The harvest year", "such as 2027")?;
                let Some(year) = year else { return Err("Give the harvest year of the walk, such as 2027.".to_owned()) };
                let date = if self.date.trim().is_empty() { None } else { Some(self.date()?) };
                Checked::Walk(WalkedOptions { year: year as i32, field: None, date, person: self.person.clone() })
            }
        })
    }

    fn letters(&self) -> Result<Option<Letters>, String> {
        text(&self.encoding).map(|name| name.parse()).transpose()
    }

    fn of_file(&self) -> Result<FileOptions, String> {
        // Only points come in tables; what was said for another kind of file is not meant.
        let of_points = self.kind == ImportKind::Gates
            || self.kind == ImportKind::Scouting && matches!(self.survey, SurveyKind::Points | SurveyKind::Places);
        let place = if of_points { self.place.clone() } else { PlaceColumns::default() };
        Ok(FileOptions { crs: self.crs()?, layer: text(&self.layer), letters: self.letters()?, place })
    }

    fn crs(&self) -> Result<Option<Crs>, String> {
        text(&self.crs).map(|code| code.parse::<Crs>()).transpose()
    }

    fn date(&self) -> Result<Date, String> {
        self.date
            .trim()
            .parse()
            .map_err(|_not_a_date: jiff::Error| "Give the day as year-month-day, such as 2026-06-12.".to_owned())
    }

    /// What the columns of a results table are to be read as.
    pub fn mapping(&self) -> Result<Mapping, String> {
        let mut map = self.renamed()?;
        map.extend(self.columns.iter().cloned());
        for (value, heading) in [(&self.assay, "assay"), (&self.year, "year"), (&self.sheet, "sheet")] {
            map.extend(text(value).map(|value| (format!("={value}"), heading.to_owned())));
        }
        map.extend(self.same.iter().map(|(code, known)| (code.clone(), format!("={known}"))));
        Ok(map)
    }

    fn renamed(&self) -> Result<Vec<(String, String)>, String> {
        let pairs = self.renamed.split([',', '\n']).filter(|pair| !pair.trim().is_empty());
        pairs
            .map(|pair| match pair.split_once('=') {
                Some((column, heading)) if !column.trim().is_empty() && !heading.trim().is_empty() => {
                    Ok((column.trim().to_owned(), heading.trim().to_owned()))
                }
                _ => Err(format!("“{}” is not “column = heading”.", pair.trim())),
            })
            .collect()
    }
}

/// Of files given at once those that are read on their own: the parts of a shapefile go with its .shp.
pub fn to_offer(files: Vec<PathBuf>) -> Vec<PathBuf> {
    let stem = |file: &Path| file.with_extension("").to_string_lossy().to_lowercase();
    let shapes: Vec<String> = files.iter().filter(|file| ending(file) == "shp").map(|file| stem(file)).collect();
    let parts = ["dbf", "shx", "prj", "cpg", "qpj", "sbn", "sbx", "qix", "qmd"];
    let is_part = |file: &PathBuf| {
        // "fields.shp.xml" describes fields.shp.
        let described = ending(file) == "xml" && ending(&file.with_extension("")) == "shp";
        let of = if described { stem(&file.with_extension("")) } else { stem(file) };
        (described || parts.contains(&ending(file).as_str())) && shapes.contains(&of)
    };
    files.into_iter().filter(|file| !is_part(file)).collect()
}

fn text(typed: &str) -> Option<String> {
    let typed = typed.trim();
    (!typed.is_empty()).then(|| typed.to_owned())
}

fn number(typed: &str, what: &str, example: &str) -> Result<Option<f64>, String> {
    let Some(typed) = text(typed) else { return Ok(None) };
    let value: Option<f64> = typed.replace(',', ".").parse().ok().filter(|value: &f64| value.is_finite());
    value.map(Some).ok_or_else(|| format!("{what} must be a number, {example}; “{typed}” is none."))
}

/// What a look at the beginning of a file tells.
#[derive(Debug, Default)]
struct Clue {
    /// The first few thousand characters, lower case.
    head: String,
    /// The shapes are areas.
    areas: bool,
    /// The shapes are points.
    points: bool,
    /// The unit that a heading names.
    unit: Option<DensityUnit>,
}

fn clue(file: &Path) -> Clue {
    let mut bytes = Vec::new();
    if let Ok(opened) = std::fs::File::open(file) {
        use std::io::Read as _;
        // A file that cannot be read says so when it is imported.
        opened.take(16_384).read_to_end(&mut bytes).ok();
    }
    let mut clue = Clue { head: String::from_utf8_lossy(&bytes).to_lowercase(), ..Clue::default() };
    match ending(file).as_str() {
        // The kind of shape stands at byte 32 of a shapefile: 1, 11, 21 points; 5, 15, 25 areas (ESRI white paper, July 1998).
        "shp" => {
            let kind = bytes.get(32).copied().unwrap_or_default();
            clue.points = matches!(kind, 1 | 11 | 21 | 8 | 18 | 28);
            clue.areas = matches!(kind, 5 | 15 | 25);
        }
        "csv" => clue.points = true,
        _ => {
            clue.areas = clue.head.contains("polygon");
            clue.points = !clue.areas && clue.head.contains("point");
        }
    }
    clue.unit = if clue.head.contains("heads") {
        Some(DensityUnit::HeadsPerM2)
    } else if clue.head.contains("plants") {
        Some(DensityUnit::PlantsPerM2)
    } else {
        None
    };
    clue
}

fn guess(file: &Path, clue: &Clue) -> ImportKind {
    let name = file.file_stem().map(|name| name.to_string_lossy().to_lowercase()).unwrap_or_default();
    let says = |words: &[&str]| words.iter().any(|word| name.contains(word));
    // A table of samples and actives, whatever else its headings say.
    let heads = |word: &str| clue.head.contains(word);
    let of_samples = heads("sample") && (heads("active") || heads("herbicide") || heads("rating"));
    if says(&["result", "assay"])
        || heads("reduction")
        || of_samples
        || matches!(ending(file).as_str(), "xlsx" | "xlsm" | "ods" | "xls")
    {
        ImportKind::Results
    } else if says(&["scout", "density", "heads", "weed"]) || matches!(ending(file).as_str(), "tif" | "tiff" | "asc") {
        ImportKind::Scouting
    } else if says(&["gate", "entrance"]) {
        ImportKind::Gates
    } else if clue.head.contains("<trkpt") || says(&["track", "walked"]) {
        ImportKind::Walk
    } else if says(&["tramline", "wheeling", "guidance"]) || clue.head.contains("linestring") {
        ImportKind::Tramlines
    } else if says(&["no-go", "no_go", "nogo", "obstacle"]) {
        ImportKind::NoGo
    } else if says(&["bound", "field", "parcel"]) {
        ImportKind::Boundaries
    } else if clue.unit.is_some() || clue.head.contains("density") {
        ImportKind::Scouting
    } else if clue.points {
        ImportKind::Gates
    } else {
        ImportKind::Boundaries
    }
}

/// A day written in the file's name, as it will be typed.
fn date_in(file: &Path) -> Option<String> {
    let name = file.file_stem()?.to_string_lossy().into_owned();
    let digits: Vec<char> = name.chars().collect();
    let found = digits.windows(10).map(String::from_iter).find(|ten| ten.parse::<Date>().is_ok());
    found.map(|ten| ten.replace('_', "-"))
}

fn ending(file: &Path) -> String {
    file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guessed(name: &str, content: &str) -> ImportForm {
        let folder = std::env::temp_dir().join(format!("awn-form-{}-{}", std::process::id(), name.len()));
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join(name);
        std::fs::write(&file, content).unwrap();
        let form = ImportForm::new(file, None);
        std::fs::remove_dir_all(folder).unwrap();
        form
    }

    #[test]
    fn the_kind_is_guessed_from_name_and_content() {
        assert_eq!(guessed("autumn.csv", "sample,active,reduction_percent\n").kind, ImportKind::Results);
        assert_eq!(guessed("pots.csv", "sample;active;alive;plants\n").kind, ImportKind::Results);
        let points = guessed("june-2026-06-12.csv", "lon,lat,heads_per_m2\n");
        assert_eq!((points.kind, points.date.as_str()), (ImportKind::Scouting, "2026-06-12"));
        assert_eq!(guessed("map.geojson", r#"{"geometry":{"type":"Polygon"}}"#).kind, ImportKind::Boundaries);
        assert_eq!(guessed("places.geojson", r#"{"geometry":{"type":"Point"}}"#).kind, ImportKind::Gates);
    }

    #[test]
    fn the_parts_of_a_shapefile_are_one_file() {
        let files = |names: &[&str]| names.iter().map(PathBuf::from).collect::<Vec<_>>();
        let given = files(&["a/F.shp", "a/f.DBF", "a/F.prj", "a/F.shp.xml", "a/gates.csv", "a/other.dbf", "b/F.prj"]);
        assert_eq!(to_offer(given), files(&["a/F.shp", "a/gates.csv", "a/other.dbf", "b/F.prj"]));
    }

    #[test]
    fn what_is_missing_is_said() {
        let mut form = ImportForm::new("scouting.csv".into(), None);
        assert!(form.checked().unwrap_err().contains("2026-06-12"));
        form.date = "2026-06-12".into();
        assert!(form.checked().is_ok());
        form.kind = ImportKind::Boundaries;
        form.spacing = "wide".into();
        assert!(form.checked().unwrap_err().contains("wide"));
    }
}
