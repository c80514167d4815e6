//! Records as rows of the tables in [`super::schema`], and back.

use geo::{Coord, Geometry, LineString, MultiPolygon, Point};
use rusqlite::types::Value;
use serde::Serialize;
use serde::de::DeserializeOwned;
use uuid::Uuid;

use crate::geometry::wkb;
use crate::model::{
    DensityUnit, Farm, Field, Gate, Measured, Method, NoGo, Patch, Plan, Record, ScoutPoint, ScoutRaster, ScoutZone, Stop,
    Survey, SurveyKind, Tramlines, Walk,
};
use crate::project::{ProjectError, envelopes, laboratory, outlook, season, treatments};

/// One row to write: table, geometry, and the values of the table's columns in order.
pub(super) struct Row {
    pub table: &'static str,
    pub geometry: Option<Geometry<f64>>,
    pub values: Vec<Value>,
}

impl Row {
    pub fn plain(table: &'static str, values: Vec<Value>) -> Self {
        Self { table, geometry: None, values }
    }

    pub fn feature(table: &'static str, geometry: impl Into<Geometry<f64>>, values: Vec<Value>) -> Self {
        Self { table, geometry: Some(geometry.into()), values }
    }
}

/// The tables that hold a record's rows, its own first.
pub(super) fn tables_of(record: &Record) -> &'static [&'static str] {
    match record {
        Record::Farm(_) => &["farms"],
        Record::Field(_) => &["fields"],
        Record::Gate(_) => &["gates"],
        Record::NoGo(_) => &["no_go_areas"],
        Record::Tramlines(_) => &["tramlines"],
        Record::Survey(_) => &["surveys", "scout_points", "scout_zones", "scout_rasters"],
        Record::Plan(_) => &["plans", "stops", "walks", "patches"],
        Record::Sample(_) => &["samples", "sample_stages"],
        Record::Walked(_) => &["walked"],
        Record::Assay(_) => &["assays"],
        Record::Standard(_) => &["standards"],
        Record::Result(_) => &["results"],
        Record::Crop(_) => &["crops"],
        Record::Spray(_) => &["sprays"],
        Record::DueMark(_) => &["due_marks"],
        Record::RipeCheck(_) => &["ripeness_checks"],
        Record::Rounds(_) => &["rounds", "round_visits"],
        Record::Programme(_) => &["programmes"],
        Record::FieldProgramme(_) => &["field_programmes"],
        Record::Scenario(_) => &["scenarios"],
        Record::Settings(_) => &[],
    }
}

pub(super) fn text(value: &(impl ToString + ?Sized)) -> Value {
    Value::Text(value.to_string())
}

pub(super) fn year(value: i32) -> Value {
    Value::Integer(value.into())
}

pub(super) fn maybe<T>(value: Option<T>, to: impl Fn(T) -> Value) -> Value {
    value.map_or(Value::Null, to)
}

pub(super) fn json(value: &impl Serialize) -> Value {
    Value::Text(serde_json::to_string(value).unwrap_or_default())
}

/// The rows of a record.
pub(super) fn rows(record: &Record) -> Vec<Row> {
    match record {
        Record::Farm(farm) => vec![Row::plain("farms", vec![text(&farm.business), text(&farm.name)])],
        Record::Field(field) => vec![Row::feature(
            "fields",
            field.boundary.clone(),
            vec![
                text(&field.farm),
                Value::Null, // farm_name, filled from the farms table after each step
                text(&field.name),
                Value::Real(field.area_m2() / crate::units::M2_PER_HA),
                maybe(field.from_year, year),
                maybe(field.until_year, year),
                json(&field.came_from),
                text(&field.note),
                json(&field.former),
            ],
        )],
        Record::Gate(gate) => {
            vec![Row::feature("gates", Point(gate.position), vec![text(&gate.field), text(&gate.name)])]
        }
        Record::NoGo(area) => {
            vec![Row::feature("no_go_areas", area.area.clone(), vec![text(&area.field), text(&area.reason)])]
        }
        Record::Tramlines(lines) => vec![Row::feature(
            "tramlines",
            Point(lines.anchor),
            vec![
                text(&lines.field),
                Value::Real(lines.bearing_deg),
                Value::Real(lines.spacing_m),
                Value::Real(lines.headland_m),
                json(&lines.area),
                json(&lines.lines),
            ],
        )],
        Record::Survey(survey) => survey_rows(survey),
        Record::Plan(plan) => plan_rows(plan),
        Record::Sample(sample) => envelopes::sample(sample),
        Record::Walked(walked) => vec![envelopes::walked(walked)],
        Record::Assay(assay) => vec![laboratory::assay(assay)],
        Record::Standard(standard) => vec![laboratory::standard(standard)],
        Record::Result(result) => vec![laboratory::result(result)],
        Record::DueMark(mark) => vec![season::mark(mark)],
        Record::RipeCheck(check) => vec![season::check(check)],
        Record::Rounds(rounds) => season::rounds(rounds),
        Record::Crop(crop) => vec![treatments::crop(crop)],
        Record::Spray(spray) => vec![treatments::spray(spray)],
        Record::Programme(programme) => vec![treatments::programme(programme)],
        Record::FieldProgramme(planned) => vec![treatments::field_programme(planned)],
        Record::Scenario(scenario) => vec![outlook::scenario(scenario)],
        Record::Settings(_) => Vec::new(),
    }
}

fn survey_rows(survey: &Survey) -> Vec<Row> {
    let kind = match survey.kind {
        SurveyKind::Points => "points",
        SurveyKind::Zones => "zones",
        SurveyKind::Places => "places",
        SurveyKind::Raster => "raster",
    };
    let own = Row::plain("surveys", vec![text(&survey.date), text(kind), text(survey.unit.label()), text(&survey.source)]);
    let points = survey
        .points
        .iter()
        .map(|point| Row::feature("scout_points", Point(point.position), vec![Value::Real(point.value)]));
    let zones =
        survey.zones.iter().map(|zone| Row::feature("scout_zones", zone.area.clone(), vec![Value::Real(zone.value)]));
    let rasters = survey.rasters.iter().map(|raster| {
        let pixels = raster.values.iter().flat_map(|value| value.to_le_bytes()).collect();
        Row::feature("scout_rasters", raster.outline(), vec![Value::Integer(raster.columns as i64), Value::Blob(pixels)])
    });
    std::iter::once(own).chain(points).chain(zones).chain(rasters).collect()
}

fn plan_rows(plan: &Plan) -> Vec<Row> {
    let mut rows = vec![Row::plain(
        "plans",
        vec![
            text(&plan.field),
            year(plan.year),
            text(plan.method.label()),
            json(&plan.settings),
            json(&plan.figures),
            maybe(plan.gate_figures.as_ref(), json),
            maybe(plan.gate, |gate| Value::Real(gate.x)),
            maybe(plan.gate, |gate| Value::Real(gate.y)),
            json(&plan.notes),
            text(&plan.advice),
            maybe(plan.patches_hold, |n| Value::Integer(n as i64)),
            maybe(plan.estimate.as_ref(), json),
            Value::Integer(plan.set_aside.into()),
        ],
    )];
    for (number, stop) in (1..).zip(&plan.stops) {
        let values = vec![
            Value::Integer(number),
            Value::Real(stop.share),
            maybe(stop.tramline, year),
            Value::Integer(stop.pinned.into()),
            Value::Integer(stop.person as i64),
            Value::Integer(stop.unit as i64),
            maybe(stop.inclusion, Value::Real),
        ];
        rows.push(Row::feature("stops", Point(stop.position), values));
    }
    for (person, walk) in (1..).zip(plan.walks()) {
        let values = vec![
            Value::Real(walk.length_m),
            Value::Real(walk.minutes),
            Value::Integer(walk.exact.into()),
            Value::Integer(person),
        ];
        rows.push(Row::feature("walks", walk.line.clone(), values));
    }
    for (number, patch) in (1..).zip(&plan.patches) {
        let values = vec![
            Value::Integer(number),
            Value::Real(patch.area_m2),
            Value::Real(patch.mean_density),
            Value::Real(patch.population_share),
            Value::Real(patch.greatest_density),
            Value::Integer(patch.group as i64),
        ];
        rows.push(Row::feature("patches", patch.outline.clone(), values));
    }
    rows
}

/// The cells of a stored row, by column name.
pub(super) struct Cells<'a> {
    pub table: &'static str,
    pub fid: i64,
    pub row: &'a rusqlite::Row<'a>,
}

impl Cells<'_> {
    pub fn damaged(&self, what: &(impl ToString + ?Sized)) -> ProjectError {
        ProjectError::Damaged { place: format!("{}, row {}", self.table, self.fid), what: what.to_string() }
    }

    pub fn get<T: rusqlite::types::FromSql>(&self, column: &str) -> Result<T, ProjectError> {
        self.row.get(column).map_err(|error| self.damaged(&format!("column {column}: {error}")))
    }

    pub fn id(&self) -> Result<Uuid, ProjectError> {
        self.parsed("id")
    }

    /// A cell as it lies in the file, without a copy.
    fn raw(&self, column: &str) -> Result<rusqlite::types::ValueRef<'_>, ProjectError> {
        self.row.get_ref(column).map_err(|error| self.damaged(&format!("column {column}: {error}")))
    }

    /// A text that reads as a T.
    pub fn parsed<T: std::str::FromStr>(&self, column: &str) -> Result<T, ProjectError> {
        let text = self.raw(column)?.as_str().map_err(|error| self.damaged(&format!("column {column}: {error}")))?;
        text.parse().map_err(|_unreadable| self.damaged(&format!("column {column}: “{text}” cannot be read")))
    }

    pub fn maybe_parsed<T: std::str::FromStr>(&self, column: &str) -> Result<Option<T>, ProjectError> {
        match self.get::<Option<String>>(column)? {
            None => Ok(None),
            Some(text) => text
                .parse()
                .map(Some)
                .map_err(|_unreadable| self.damaged(&format!("column {column}: “{text}” cannot be read"))),
        }
    }

    pub fn json<T: DeserializeOwned>(&self, column: &str) -> Result<T, ProjectError> {
        let text: String = self.get(column)?;
        serde_json::from_str(&text).map_err(|error| self.damaged(&format!("column {column}: {error}")))
    }

    pub fn maybe_json<T: DeserializeOwned>(&self, column: &str) -> Result<Option<T>, ProjectError> {
        match self.get::<Option<String>>(column)? {
            None => Ok(None),
            Some(_) => self.json(column).map(Some),
        }
    }

    pub fn geometry(&self) -> Result<Geometry<f64>, ProjectError> {
        let blob = self.raw("geom")?.as_blob().map_err(|error| self.damaged(&format!("column geom: {error}")))?;
        wkb::from_gpkg_blob(blob).map_err(|error| self.damaged(&error))?.ok_or_else(|| self.damaged("the geometry is empty"))
    }

    pub fn point(&self) -> Result<Coord<f64>, ProjectError> {
        match self.geometry()? {
            Geometry::Point(point) => Ok(point.0),
            _ => Err(self.damaged("the geometry is no point")),
        }
    }

    fn area(&self) -> Result<MultiPolygon<f64>, ProjectError> {
        match self.geometry()? {
            Geometry::MultiPolygon(area) => Ok(area),
            Geometry::Polygon(polygon) => Ok(MultiPolygon(vec![polygon])),
            _ => Err(self.damaged("the geometry is no area")),
        }
    }

    fn line(&self) -> Result<LineString<f64>, ProjectError> {
        match self.geometry()? {
            Geometry::LineString(line) => Ok(line),
            _ => Err(self.damaged("the geometry is no line")),
        }
    }
}

/// The record of a row of a table of records (not of parts).
pub(super) fn record(cells: &Cells<'_>) -> Result<Record, ProjectError> {
    Ok(match cells.table {
        "farms" => {
            Record::Farm(Farm { id: cells.parsed("id")?, business: cells.get("business")?, name: cells.get("name")? })
        }
        "fields" => Record::Field(Field {
            id: cells.parsed("id")?,
            farm: cells.parsed("farm")?,
            name: cells.get("name")?,
            boundary: cells.area()?,
            from_year: cells.get("from_year")?,
            until_year: cells.get("until_year")?,
            came_from: cells.json("came_from")?,
            note: cells.get("note")?,
            former: cells.json("former")?,
            measured: Measured::default(),
        }),
        "gates" => Record::Gate(Gate {
            id: cells.parsed("id")?,
            field: cells.parsed("field")?,
            name: cells.get("name")?,
            position: cells.point()?,
        }),
        "no_go_areas" => Record::NoGo(NoGo {
            id: cells.parsed("id")?,
            field: cells.parsed("field")?,
            reason: cells.get("reason")?,
            area: cells.area()?,
        }),
        "tramlines" => Record::Tramlines(Tramlines {
            id: cells.parsed("id")?,
            field: cells.parsed("field")?,
            anchor: cells.point()?,
            bearing_deg: cells.get("bearing_deg")?,
            spacing_m: cells.get("spacing_m")?,
            headland_m: cells.get("headland_m")?,
            area: cells.json("area")?,
            lines: cells.json("lines")?,
        }),
        "surveys" => Record::Survey(Survey {
            id: cells.parsed("id")?,
            date: cells.parsed("date")?,
            kind: match cells.get::<String>("kind")?.as_str() {
                "points" => SurveyKind::Points,
                "zones" => SurveyKind::Zones,
                "places" => SurveyKind::Places,
                "raster" => SurveyKind::Raster,
                other => return Err(cells.damaged(&format!("{other} is no kind of survey"))),
            },
            unit: cells.parsed::<DensityUnit>("unit")?,
            source: cells.get("source")?,
            points: Vec::new(),
            zones: Vec::new(),
            rasters: Vec::new(),
        }),
        "plans" => Record::Plan(plan(cells)?),
        "samples" => Record::Sample(envelopes::read_sample(cells)?),
        "walked" => Record::Walked(envelopes::read_walked(cells)?),
        "assays" => Record::Assay(laboratory::read_assay(cells)?),
        "standards" => Record::Standard(laboratory::read_standard(cells)?),
        "results" => Record::Result(laboratory::read_result(cells)?),
        "due_marks" => Record::DueMark(season::read_mark(cells)?),
        "ripeness_checks" => Record::RipeCheck(season::read_check(cells)?),
        "rounds" => Record::Rounds(season::read_rounds(cells)?),
        "crops" => Record::Crop(treatments::read_crop(cells)?),
        "sprays" => Record::Spray(treatments::read_spray(cells)?),
        "programmes" => Record::Programme(treatments::read_programme(cells)?),
        "field_programmes" => Record::FieldProgramme(treatments::read_field_programme(cells)?),
        "scenarios" => Record::Scenario(outlook::read_scenario(cells)?),
        other => return Err(cells.damaged(&format!("{other} is no table of records"))),
    })
}

fn plan(cells: &Cells<'_>) -> Result<Plan, ProjectError> {
    let method: String = cells.get("method")?;
    let gate = match (cells.get::<Option<f64>>("gate_lon")?, cells.get::<Option<f64>>("gate_lat")?) {
        (Some(x), Some(y)) => Some(Coord { x, y }),
        _ => None,
    };
    Ok(Plan {
        id: cells.parsed("id")?,
        field: cells.parsed("field")?,
        year: cells.get("year")?,
        method: method.parse::<Method>().map_err(|error| cells.damaged(&error))?,
        settings: cells.json("settings")?,
        stops: Vec::new(),
        gate,
        walk: Walk { line: LineString(Vec::new()), length_m: 0.0, minutes: 0.0, exact: false },
        second_walk: None,
        patches: Vec::new(),
        figures: cells.json("figures")?,
        gate_figures: cells.maybe_json("gate_figures")?,
        notes: cells.json("notes")?,
        advice: cells.get("advice")?,
        patches_hold: cells.get("patches_hold")?,
        estimate: cells.maybe_json("estimate")?,
        set_aside: cells.get("set_aside")?,
    })
}

/// Adds a row of a table of parts to the record it belongs to.
pub(super) fn add_part(cells: &Cells<'_>, owner: &mut Record) -> Result<(), ProjectError> {
    match (cells.table, owner) {
        ("scout_points", Record::Survey(survey)) => {
            survey.points.push(ScoutPoint { position: cells.point()?, value: cells.get("value")? });
        }
        ("scout_zones", Record::Survey(survey)) => {
            survey.zones.push(ScoutZone { area: cells.area()?, value: cells.get("value")? });
        }
        ("scout_rasters", Record::Survey(survey)) => survey.rasters.push(raster(cells)?),
        ("stops", Record::Plan(plan)) => plan.stops.push(Stop {
            position: cells.point()?,
            share: cells.get("share")?,
            tramline: cells.get("tramline")?,
            pinned: cells.get("pinned")?,
            person: cells.get("person")?,
            unit: cells.get("sample")?,
            inclusion: cells.get("inclusion")?,
        }),
        ("walks", Record::Plan(plan)) => {
            let walk = Walk {
                line: cells.line()?,
                length_m: cells.get("length_m")?,
                minutes: cells.get("minutes")?,
                exact: cells.get("exact")?,
            };
            if cells.get::<i64>("person")? == 2 {
                plan.second_walk = Some(walk);
            } else {
                plan.walk = walk;
            }
        }
        ("sample_stages", Record::Sample(sample)) => sample.events.push(envelopes::read_stage(cells)?),
        ("patches", Record::Plan(plan)) => plan.patches.push(Patch {
            outline: cells.area()?,
            area_m2: cells.get("area_m2")?,
            mean_density: cells.get("mean_density")?,
            population_share: cells.get("population_share")?,
            greatest_density: cells.get("greatest_density")?,
            group: cells.get("patch_group")?,
        }),
        ("round_visits", Record::Rounds(rounds)) => rounds.visits.push(season::read_visit(cells)?),
        _ => return Err(cells.damaged("it belongs to a record of another kind")),
    }
    Ok(())
}

fn raster(cells: &Cells<'_>) -> Result<ScoutRaster, ProjectError> {
    let outline = cells.area()?;
    let corners = outline.0.first().map(|part| part.exterior().0.as_slice());
    let Some([top_left, bottom_left, _, top_right, ..]) = corners else {
        return Err(cells.damaged("the geometry is no outline of a raster"));
    };
    let pixels: Vec<u8> = cells.get("pixels")?;
    let values = pixels.chunks_exact(4).map(|bytes| f32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]])).collect();
    let raster = ScoutRaster { corners: [*top_left, *top_right, *bottom_left], columns: cells.get("column_count")?, values };
    if raster.columns == 0 || raster.columns * raster.rows() != raster.values.len() {
        return Err(cells.damaged("the pixels do not fill the raster"));
    }
    Ok(raster)
}
