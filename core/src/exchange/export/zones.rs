//! Patches as treatment zones for a sprayer: shapefile, GeoJSON, or a planned task of ISO 11783-10 (TASKDATA.XML). WGS 84.
//!
//! The task names the field, a zone 0 with rate 0 for everything outside the patches, for a lost position and for the ground beyond
//! the field, and one zone for each patch with the rate as volume by area. The text of the standard was not at hand: elements TSK,
//! TZN, PDV, their attribute letters, the type 2 of PLN for a treatment zone, the status 1 of a planned task, and data
//! dictionary entry 1 (setpoint volume per area, mm3/m2) are from memory, as are 254 codes of zones. Product and device are left
//! to whoever plans the work: the label decides.

use geo::{Geometry, LineString, MultiPolygon, Orient as _};

use crate::exchange::export::layer::{Layer, Value};
use crate::exchange::export::{ExportFile, geojson, kml, shapefile};
use crate::model::{Field, Patch};
use crate::units::M2_PER_HA;

/// Codes of zones besides 0.
const MOST_ZONES: usize = 254;
/// Letters of a designator.
const LONGEST: usize = 32;

/// A spray volume by area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneRate {
    litres_per_ha: f64,
}

impl ZoneRate {
    /// From l/ha, above 0 and up to 10 000.
    pub fn litres_per_ha(litres: f64) -> Result<Self, String> {
        if litres > 0.0 && litres <= 10_000.0 {
            return Ok(Self { litres_per_ha: litres });
        }
        Err(format!("{litres} l/ha is no spray volume; give more than 0 and up to 10000"))
    }

    /// In mm3/m2, to a whole number: 1 l/ha is 100 mm3/m2.
    fn cubic_mm_per_m2(self) -> i64 {
        (self.litres_per_ha * 100.0).round() as i64
    }
}

/// Patches of one field for a sprayer.
#[derive(Debug, Clone)]
pub struct Zones<'a> {
    /// The field.
    pub field: &'a Field,
    /// Its farm's name.
    pub farm: &'a str,
    /// Harvest year.
    pub year: i32,
    /// Number and patch.
    pub patches: Vec<(usize, Patch)>,
    /// Spray volume inside the patches.
    pub rate: Option<ZoneRate>,
}

impl Zones<'_> {
    /// The files of a format, by the ending asked for: shp, geojson or json, xml.
    pub fn files(&self, ending: &str) -> Result<Vec<ExportFile>, String> {
        if self.patches.is_empty() {
            return Err(format!("{} has no patch to write; lower the limit of a patch", self.field.name));
        }
        let one = |bytes| Ok(vec![ExportFile { ending: None, bytes }]);
        match ending {
            "shp" => {
                let files = shapefile::write(&self.layer())?;
                Ok(files.into_iter().map(|(ending, bytes)| ExportFile { ending: Some(ending), bytes }).collect())
            }
            "geojson" | "json" => one(geojson::layer(&self.layer())),
            "xml" => one(self.task()?),
            other => Err(format!("patches are not written as “{other}”; use .shp, .geojson, or .xml for ISO 11783-10")),
        }
    }

    fn layer(&self) -> Layer {
        let row = |(number, patch): &(usize, Patch)| {
            let values = vec![
                Value::Text(format!("{} patch {number}", self.field.name)),
                Value::Text(self.farm.to_owned()),
                Value::Text(self.field.name.clone()),
                Value::Whole(i64::from(self.year)),
                Value::Whole(*number as i64),
                Value::Real((patch.area_m2 / M2_PER_HA * 1e4).round() / 1e4),
                Value::Real(patch.mean_density),
                self.rate.map_or(Value::None, |rate| Value::Real(rate.litres_per_ha)),
            ];
            (Geometry::MultiPolygon(patch.outline.orient(geo::orient::Direction::Default)), values)
        };
        let columns = &["name", "farm", "field", "year", "patch", "area_ha", "density", "rate_l_ha"];
        Layer { name: "patches", columns, rows: self.patches.iter().map(row).collect() }
    }

    fn task(&self) -> Result<Vec<u8>, String> {
        let Some(rate) = self.rate else {
            return Err(
                "task data need a rate; give the spray volume in l/ha that label and adviser say, with --rate".into()
            );
        };
        if self.patches.len() > MOST_ZONES {
            return Err(format!("task data hold up to {MOST_ZONES} zones; choose fewer patches"));
        }
        let zone = |code: usize, name: &str, value: i64, shape: &str| {
            let name = designator(name);
            format!("<TZN A=\"{code}\" B=\"{name}\">{shape}<PDV A=\"0001\" B=\"{value}\"/></TZN>\n")
        };
        let mut zones = zone(0, "Outside the patches", 0, "");
        for (code, (number, patch)) in (1..).zip(&self.patches) {
            zones += &zone(code, &format!("Patch {number}"), rate.cubic_mm_per_m2(), &areas("2", &patch.outline));
        }
        let name = designator(&self.field.name);
        Ok(format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ISO11783_TaskData VersionMajor=\"4\" VersionMinor=\"3\" \
             ManagementSoftwareManufacturer=\"Awn\" ManagementSoftwareVersion=\"{version}\" DataTransferOrigin=\"1\">\n\
             <FRM A=\"FRM1\" B=\"{farm}\"/>\n<PFD A=\"PFD1\" C=\"{name}\" D=\"{area:.0}\" F=\"FRM1\">\n{boundary}</PFD>\n\
             <TSK A=\"TSK1\" B=\"{task}\" D=\"FRM1\" E=\"PFD1\" G=\"1\" H=\"0\" I=\"0\" J=\"0\">\n{zones}</TSK>\n\
             </ISO11783_TaskData>\n",
            version = env!("CARGO_PKG_VERSION"),
            farm = designator(self.farm),
            area = self.field.area_m2(),
            boundary = areas("1", &self.field.boundary),
            task = designator(&format!("Patches {} {}", self.year, self.field.name)),
        )
        .into_bytes())
    }
}

fn designator(name: &str) -> String {
    kml::escaped(&name.trim().chars().take(LONGEST).collect::<String>())
}

/// One PLN for each part of a shape.
fn areas(kind: &str, shape: &MultiPolygon<f64>) -> String {
    let ring = |kind: &str, ring: &LineString<f64>| {
        let points = ring.0.iter().map(|at| format!("<PNT A=\"2\" C=\"{:.9}\" D=\"{:.9}\"/>", at.y, at.x));
        format!("<LSG A=\"{kind}\">{}</LSG>", points.collect::<String>())
    };
    let part = |part: &geo::Polygon<f64>| {
        let holes: String = part.interiors().iter().map(|hole| ring("2", hole)).collect();
        format!("<PLN A=\"{kind}\">{}{holes}</PLN>\n", ring("1", part.exterior()))
    };
    shape.orient(geo::orient::Direction::Default).iter().map(part).collect()
}
