//! KML 2.2 (OGC 07-147r2): one placemark a shape, attributes as extended data.

use geo::{Coord, Geometry, LineString, Polygon};

use crate::exchange::export::layer::{Layer, Value};

/// The file's bytes.
pub(super) fn write(layer: &Layer) -> Vec<u8> {
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n",
    );
    out += &format!("<name>{}</name>\n", layer.name);
    for (geometry, values) in &layer.rows {
        let name = values.first().map(written).unwrap_or_default();
        out += &format!("<Placemark>\n<name>{}</name>\n<ExtendedData>\n", escaped(&name));
        for (column, value) in layer.columns.iter().zip(values).skip(1).filter(|(_, value)| **value != Value::None) {
            out += &format!("<Data name=\"{column}\"><value>{}</value></Data>\n", escaped(&written(value)));
        }
        out += &format!("</ExtendedData>\n{}</Placemark>\n", shape(geometry));
    }
    out += "</Document>\n</kml>\n";
    out.into_bytes()
}

fn shape(geometry: &Geometry<f64>) -> String {
    match geometry {
        Geometry::Point(point) => format!("<Point><coordinates>{}</coordinates></Point>\n", positions(&[point.0])),
        Geometry::LineString(line) => {
            format!("<LineString><tessellate>1</tessellate><coordinates>{}</coordinates></LineString>\n", positions(&line.0))
        }
        Geometry::MultiPolygon(areas) if areas.0.len() == 1 => areas.iter().map(polygon).collect(),
        Geometry::MultiPolygon(areas) => {
            format!("<MultiGeometry>\n{}</MultiGeometry>\n", areas.iter().map(polygon).collect::<String>())
        }
        _ => String::new(),
    }
}

fn polygon(area: &Polygon<f64>) -> String {
    let ring = |name: &str, ring: &LineString<f64>| {
        format!("<{name}><LinearRing><coordinates>{}</coordinates></LinearRing></{name}>", positions(&ring.0))
    };
    let holes: String = area.interiors().iter().map(|hole| ring("innerBoundaryIs", hole)).collect();
    format!("<Polygon>{}{holes}</Polygon>\n", ring("outerBoundaryIs", area.exterior()))
}

/// Nine decimals of a degree are a tenth of a millimetre.
fn positions(list: &[Coord<f64>]) -> String {
    list.iter().map(|at| format!("{:.9},{:.9}", at.x, at.y)).collect::<Vec<_>>().join(" ")
}

fn written(value: &Value) -> String {
    match value {
        Value::Text(text) => text.clone(),
        Value::Whole(number) => number.to_string(),
        Value::Real(number) => number.to_string(),
        Value::None => String::new(),
    }
}

/// A text for XML, without the control characters that it cannot hold.
pub(super) fn escaped(text: &str) -> String {
    let plain = text.chars().filter(|c| !c.is_control()).collect::<String>();
    plain.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
