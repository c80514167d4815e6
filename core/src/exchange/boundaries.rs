//! Field boundaries: areas of a file to fields, farms and, if the sprayer's width is given, tramlines.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use geo::{Coord, MultiPolygon, Rect};
use jiff::civil::Date;

use crate::crs::Crs;
use crate::exchange::boundary_columns::{BoundaryColumns, Columns, Facts};
use crate::exchange::boundary_facts::{self, AreaUnit, More};
use crate::exchange::new_year::{self, NewYear};
use crate::exchange::outline::{self, Outline};
use crate::exchange::row_errors::RowErrors;
use crate::exchange::{Import, ImportError, RepairedShape, place};
use crate::formats::{self, Letters, Reading, Row, Shapes};
use crate::geometry;
use crate::model::{
    DensityUnit, Farm, FarmId, Field, FieldId, Layout, Record, Records, Settings, Tramlines, overlaps, same_name,
};
use crate::problem::Problems;
use crate::progress::Progress;
use crate::project::Edit;
use crate::units;
use crate::walk::{FirstLine, suggest_tramlines};

/// How to read boundaries.
#[derive(Debug, Clone, Default)]
pub struct BoundaryOptions {
    /// The farm they belong to; none: a farm column, or the file's name.
    pub farm: Option<String>,
    /// Coordinate system; none: what the file says.
    pub crs: Option<Crs>,
    /// Which columns hold what; none said: as for the last file of the same layout, or by heading.
    pub columns: BoundaryColumns,
    /// Unit of stated areas; none: by heading, or by what fits the outlines.
    pub area_unit: Option<AreaUnit>,
    /// Unit of densities; none: by heading.
    pub density_unit: Option<DensityUnit>,
    /// The day on which densities were seen, for rows that do not say it.
    pub date: Option<Date>,
    /// Letters of the file's texts; none: as it says, or found out.
    pub letters: Option<Letters>,
    /// Layer of a file with several; none: the first with areas.
    pub layer: Option<String>,
    /// Bearing of the tramlines in degrees; none: along the longest edge.
    pub tramline_bearing_deg: Option<f64>,
    /// Spacing of the tramlines in m; none: no tramlines are made.
    pub tramline_spacing_m: Option<f64>,
    /// Harvest year from which the boundaries hold: they are matched to those there by the land they lie on. None: by farm
    /// and name, and refused where a field would come to lie on another one's land.
    pub year: Option<i32>,
    /// With a year: fields of the same farms that are not in the file end with the year before.
    pub close_missing: bool,
}

/// One area of the file.
pub(super) struct Area {
    pub farm: String,
    pub name: String,
    pub boundary: MultiPolygon<f64>,
    /// What it encloses on the ellipsoid.
    pub size_m2: f64,
    pub facts: Facts,
}

/// So many rows are repaired and measured at a time, on all threads.
const CHUNK: usize = 1024;

/// Reads field boundaries. A field of the same farm and name that is there already gets the new boundary.
pub fn boundaries(
    records: &Records,
    file: &Path,
    options: &BoundaryOptions,
    problems: &mut Problems,
    progress: &dyn Progress,
) -> Result<Import, ImportError> {
    check(options, problems)?;
    let reading = Reading { layer: options.layer.as_deref(), shapes: Shapes::Areas, letters: options.letters };
    let table = formats::read_as(file, reading, problems).ok_or(ImportError::Problems)?;
    let converter = place::converter(&table, options.crs.as_ref(), problems)?;
    let mut columns = Columns::find(records, &table, &options.columns, problems)?;
    if options.farm.is_some() {
        columns.farm = None;
    }
    let density_unit = options.density_unit.or_else(|| columns.density_unit(&table));
    let date_said = options.columns.date.is_some();
    let farm = options.farm.clone().or_else(|| Some(file.file_stem()?.to_string_lossy().into_owned())).unwrap_or_default();
    let mut skipped = 0;
    let (mut areas, mut repaired, mut doubled) = (Vec::new(), Vec::new(), 0);
    let mut taken = Taken::default();
    let mut errors = RowErrors::new(&table.name, problems);
    for start in (0..table.rows.len()).step_by(CHUNK) {
        progress.check(start, table.rows.len())?;
        let rows: Vec<Row<'_>> = table.rows.iter().skip(start).take(CHUNK).collect();
        let outlines = outline::read(&rows, &converter);
        for (row, outline) in rows.into_iter().zip(outlines) {
            let outline = match outline.said(table.place(row), &mut errors) {
                Outline::Sound(sound) => sound,
                Outline::Wrong(_) => continue,
                Outline::None(_) => {
                    skipped += 1;
                    continue;
                }
            };
            doubled += usize::from(outline.doubled);
            let farm = columns.farm(&table, row).unwrap_or_else(|| farm.clone());
            let name = taken.distinct(table.place(row), columns.field(&table, row, areas.len() + 1), &farm);
            let facts = columns.facts(&table, row, density_unit, date_said, &mut errors);
            let (boundary, size_m2) = (outline.shape, outline.area_m2);
            repaired.extend(outline.before.map(|before| RepairedShape {
                place: table.place(row),
                name: name.clone(),
                before,
                after: boundary.clone(),
            }));
            areas.push(Area { farm, name, boundary, size_m2, facts });
        }
    }
    errors.finish()?;
    if doubled > 0 {
        let what = format!("{} had corners given twice in a row, which were taken once.", units::count(doubled, "outline"));
        problems.note(&table.name, what, "");
    }
    taken.warn(&table.name, problems);
    if areas.is_empty() {
        problems.error(&table.name, "no row has an area.", "Give a file with the outlines of fields (polygons).");
        return Err(ImportError::Problems);
    }
    warn_shared(&areas, &table.name, problems);
    let area_m2: f64 = areas.iter().map(|area: &Area| area.size_m2).sum();
    let mut summary = vec![
        format!("{}: {}, {} ha", table.name, units::count(areas.len(), "field"), units::ha(area_m2)),
        format!("Coordinates: {} to WGS 84 ({})", converter.system().label(), converter.conversion()),
    ];
    summary.extend(columns.said(&table));
    summary.extend(boundary_facts::compare_areas(
        &table,
        &columns,
        &areas,
        options.area_unit.or(columns.area_unit),
        problems,
    ));
    let (mut import, placed) = if let Some(year) = options.year {
        let tramlines = options.tramline_spacing_m.map(|spacing| (spacing, options.tramline_bearing_deg));
        let farms_named = options.farm.is_some() || columns.farm.is_some();
        let what = NewYear { year, close_missing: options.close_missing, farms_named, tramlines };
        new_year::import(records, &areas, what, &table.name, problems)?
    } else {
        refuse_other_land(records, &areas, &table.name, problems)?;
        records_of(records, &areas, options)
    };
    let more = More { records, table: &table, columns: &columns, areas: &areas, placed: &placed, options };
    let mut edit = Edit::new(records, "");
    summary.extend(more.add(&mut edit, problems)?);
    if let Some(layout) = options.columns.layout(&table, options.area_unit, options.density_unit) {
        edit.put(Record::Settings(with_layout(&records.settings, layout)));
    }
    import.command.changes.extend(edit.done().changes);
    import.skipped = skipped;
    import.repaired = repaired;
    import.columns = Some(columns.named(&table));
    import.summary.splice(0..0, summary);
    Ok(import)
}

/// So many layouts are remembered.
const LAYOUTS: usize = 40;

/// The settings with one more layout, which takes the place of an older one of the same headings.
pub(super) fn with_layout(settings: &Settings, layout: Layout) -> Settings {
    let mut settings = settings.clone();
    settings.boundary_layouts.retain(|known| known.headings != layout.headings);
    settings.boundary_layouts.push(layout);
    let over = settings.boundary_layouts.len().saturating_sub(LAYOUTS);
    settings.boundary_layouts.drain(..over);
    settings
}

/// So many pairs of fields that share land are named one by one.
const PAIRS_ONE_BY_ONE: usize = 10;

/// Names the fields of the file that share land with one another.
fn warn_shared(areas: &[Area], file: &str, problems: &mut Problems) {
    let shapes: Vec<&MultiPolygon<f64>> = areas.iter().map(|area| &area.boundary).collect();
    let pairs = overlaps(&shapes);
    for (first, second, common) in pairs.iter().take(PAIRS_ONE_BY_ONE) {
        let (Some(first), Some(second)) = (areas.get(*first), areas.get(*second)) else { continue };
        let what = format!("“{}” and “{}” share {} ha.", first.name, second.name, units::ha(*common));
        problems.warning(file, what, "Draw one of the two boundaries again, or the land counts twice.");
        let both = [&first.boundary, &second.boundary].map(geometry::bounds);
        problems.lies_at(both[0].zip(both[1]).and_then(|(a, b)| shared_bounds(a, b)));
    }
    if pairs.len() > PAIRS_ONE_BY_ONE {
        let what = format!("{} more pairs of fields share land.", pairs.len() - PAIRS_ONE_BY_ONE);
        problems.warning(file, what, "Look at them on the map.");
    }
}

/// What two bounds have in common.
fn shared_bounds(a: Rect<f64>, b: Rect<f64>) -> Option<Rect<f64>> {
    let (low, high) = (
        Coord { x: a.min().x.max(b.min().x), y: a.min().y.max(b.min().y) },
        Coord { x: a.max().x.min(b.max().x), y: a.max().y.min(b.max().y) },
    );
    (low.x <= high.x && low.y <= high.y).then(|| Rect::new(low, high))
}

/// An area on the land of a field of another name is no new field: refused, because that field's history would be lost to it.
fn refuse_other_land(records: &Records, areas: &[Area], file: &str, problems: &mut Problems) -> Result<(), ImportError> {
    let mut errors = RowErrors::new(file, problems);
    for (index, field) in new_year::on_land_of(records, areas) {
        let name = areas.get(index).map_or("", |area| area.name.as_str());
        errors.add_at(
            areas.get(index).and_then(|area| geometry::bounds(&area.boundary)),
            format!("{file}, {name}"),
            format!("it lies on the land of {}/{}, which the project has already.", records.farm_name(field), field.name),
            "Say from which harvest year the new boundaries hold (--year 2026): then fields are matched by their land and keep \
             their history.",
        );
    }
    errors.finish()
}

fn check(options: &BoundaryOptions, problems: &mut Problems) -> Result<(), ImportError> {
    if let Some(spacing) = options.tramline_spacing_m
        && !(2.0..=100.0).contains(&spacing)
    {
        problems.error("tramline spacing", format!("{spacing} m is no width of a sprayer."), "Give 2 to 100 m.");
    }
    if let Some(bearing) = options.tramline_bearing_deg
        && !(0.0..=360.0).contains(&bearing)
    {
        problems.error(
            "tramline bearing",
            format!("{bearing} is no bearing."),
            "Give 0 to 360 degrees clockwise from north.",
        );
    }
    if let Some(year) = options.year
        && !(1950..=2100).contains(&year)
    {
        problems.error("year", format!("{year} is no harvest year."), "Give a year such as 2026.");
    }
    if options.close_missing && options.year.is_none() {
        problems.error("year", "fields can end only with a year.", "Give the harvest year as well.");
    }
    if options.tramline_bearing_deg.is_some() && options.tramline_spacing_m.is_none() {
        problems.error("tramline bearing", "no tramlines can be made without a spacing.", "Give the spacing as well.");
    }
    if problems.has_errors() { Err(ImportError::Problems) } else { Ok(()) }
}

/// Names that the file has given already, by farm.
#[derive(Default)]
struct Taken {
    names: BTreeSet<(String, String)>,
    /// Row, name in the file, name given.
    renamed: Vec<(String, String, String)>,
}

/// So many renamed fields are named one by one; more are named together.
const RENAMED_ONE_BY_ONE: usize = 5;

impl Taken {
    /// The name, or the name with a number if the farm has one of that name in the file already.
    fn distinct(&mut self, place: String, name: String, farm: &str) -> String {
        let key = |name: &str| (farm.trim().to_lowercase(), name.trim().to_lowercase());
        if self.names.insert(key(&name)) {
            return name;
        }
        let mut number = 2;
        let other = loop {
            let other = format!("{name} ({number})");
            if self.names.insert(key(&other)) {
                break other;
            }
            number += 1;
        };
        self.renamed.push((place, name, other.clone()));
        other
    }

    fn warn(&self, file: &str, problems: &mut Problems) {
        let hint = "Rename them, or choose another column for the names.";
        if self.renamed.len() > RENAMED_ONE_BY_ONE {
            let few = self
                .renamed
                .iter()
                .take(RENAMED_ONE_BY_ONE)
                .map(|(_, _, other)| other.as_str())
                .collect::<Vec<_>>()
                .join(", ");
            let what = format!(
                "{} fields have the name of another one of their farm and got a number: {few} …",
                self.renamed.len()
            );
            problems.warning(file, what, hint);
            return;
        }
        for (place, name, other) in &self.renamed {
            let what = format!("the farm has a field “{name}” already in this file; this one is called “{other}”.");
            problems.warning(place.as_str(), what, hint);
        }
    }
}

fn records_of(records: &Records, areas: &[Area], options: &BoundaryOptions) -> (Import, Vec<Option<FieldId>>) {
    let mut edit = Edit::new(records, format!("Add {}", units::count(areas.len(), "field")));
    let mut farms: BTreeMap<String, FarmId> = BTreeMap::new();
    let lines_of: BTreeMap<_, &Tramlines> = records.tramlines.values().map(|lines| (lines.field, &**lines)).collect();
    // The shape that still holds, not those from before a split or a merge.
    let present: BTreeMap<(FarmId, String), &Field> = records
        .fields
        .values()
        .filter(|field| field.until_year.is_none())
        .map(|field| ((field.farm, field.name.trim().to_lowercase()), &**field))
        .collect();
    let (mut added, mut updated, mut placed) = (0, 0, Vec::new());
    for area in areas {
        let farm = *farms.entry(area.farm.trim().to_lowercase()).or_insert_with(|| {
            records.farms.values().find(|farm| same_name(&farm.name, &area.farm)).map_or_else(
                || {
                    let farm = Farm { id: FarmId::new(), business: String::new(), name: area.farm.trim().to_owned() };
                    let id = farm.id;
                    edit.put(Record::Farm(farm));
                    id
                },
                |farm| farm.id,
            )
        });
        let field = if let Some(field) = present.get(&(farm, area.name.trim().to_lowercase())) {
            updated += 1;
            Field { boundary: area.boundary.clone(), ..(*field).clone() }
        } else {
            added += 1;
            Field::new(farm, area.name.trim(), area.boundary.clone())
        };
        let made = options.tramline_spacing_m.and_then(|spacing| {
            suggest_tramlines(field.id, &field.boundary, options.tramline_bearing_deg, spacing, FirstLine::Half)
        });
        let there = lines_of.get(&field.id);
        placed.push(Some(field.id));
        edit.put(Record::Field(field));
        if let Some(made) = made {
            let id = there.map_or(made.id, |lines| lines.id);
            edit.put(Record::Tramlines(Tramlines { id, ..made }));
        }
    }
    (Import { added, updated, ..Import::of(edit.done()) }, placed)
}
