//! GeoPackage geometry blobs: the header of OGC 12-128 clause 2.1.3 around ISO well-known binary.
//!
//! Reads both byte orders, drops Z and M, and makes chords of arcs; counts are checked against the bytes that are left, so that a damaged
//! blob costs no memory. (General readers reserve what a damaged header asks for.) Writes little-endian 2D.

use crate::geometry::curve;
use geo::{
    BoundingRect as _, Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point,
    Polygon,
};

/// Why a blob is no geometry that can be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WkbError {
    /// The bytes end early or counts do not fit.
    #[error("the geometry is damaged: {0}")]
    Damaged(&'static str),
    /// A kind of geometry that has no straight edges, or no place in a field map.
    #[error("geometry of type {0} is not read; convert curves to straight lines first")]
    Unsupported(&'static str),
}

/// A geometry as a GeoPackage blob with an envelope.
pub fn to_gpkg_blob(geometry: &Geometry<f64>, srs_id: i32) -> Vec<u8> {
    let mut out = Vec::with_capacity(128);
    out.extend(b"GP\0");
    let envelope = geometry.bounding_rect();
    out.push(if envelope.is_some() { 0b0000_0011 } else { 0b0001_0001 });
    out.extend(srs_id.to_le_bytes());
    if let Some(rect) = envelope {
        for value in [rect.min().x, rect.max().x, rect.min().y, rect.max().y] {
            out.extend(value.to_le_bytes());
        }
    }
    write(geometry, &mut out);
    out
}

fn write(geometry: &Geometry<f64>, out: &mut Vec<u8>) {
    let head = |kind: u32, out: &mut Vec<u8>| {
        out.push(1);
        out.extend(kind.to_le_bytes());
    };
    let count = |n: usize, out: &mut Vec<u8>| out.extend((n as u32).to_le_bytes());
    match geometry {
        Geometry::Point(point) => {
            head(1, out);
            coords(&[point.0], out);
        }
        Geometry::LineString(line) => {
            head(2, out);
            count(line.0.len(), out);
            coords(&line.0, out);
        }
        Geometry::Polygon(polygon) => {
            head(3, out);
            count(1 + polygon.interiors().len(), out);
            for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                count(ring.0.len(), out);
                coords(&ring.0, out);
            }
        }
        Geometry::MultiPoint(parts) => {
            head(4, out);
            count(parts.0.len(), out);
            parts.iter().for_each(|part| write(&Geometry::Point(*part), out));
        }
        Geometry::MultiLineString(parts) => {
            head(5, out);
            count(parts.0.len(), out);
            parts.iter().for_each(|part| write(&Geometry::LineString(part.clone()), out));
        }
        Geometry::MultiPolygon(parts) => {
            head(6, out);
            count(parts.0.len(), out);
            parts.iter().for_each(|part| write(&Geometry::Polygon(part.clone()), out));
        }
        Geometry::GeometryCollection(parts) => {
            head(7, out);
            count(parts.0.len(), out);
            parts.iter().for_each(|part| write(part, out));
        }
        Geometry::Line(line) => write(&Geometry::LineString((*line).into()), out),
        Geometry::Rect(rect) => write(&Geometry::Polygon(rect.to_polygon()), out),
        Geometry::Triangle(triangle) => write(&Geometry::Polygon(triangle.to_polygon()), out),
    }
}

fn coords(list: &[Coord<f64>], out: &mut Vec<u8>) {
    for c in list {
        out.extend(c.x.to_le_bytes());
        out.extend(c.y.to_le_bytes());
    }
}

/// A geometry from a GeoPackage blob; none if the blob says that it is empty.
pub fn from_gpkg_blob(blob: &[u8]) -> Result<Option<Geometry<f64>>, WkbError> {
    let damaged = WkbError::Damaged;
    if blob.get(..2) != Some(b"GP") {
        return Err(damaged("it does not begin with GP"));
    }
    let flags = *blob.get(3).ok_or(damaged("its header ends early"))?;
    if flags & 0b0010_0000 != 0 {
        return Err(WkbError::Unsupported("extended GeoPackage binary"));
    }
    let envelope = match (flags >> 1) & 0b111 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return Err(damaged("its envelope is of an unknown kind")),
    };
    if flags & 0b0001_0000 != 0 {
        return Ok(None);
    }
    let body = blob.get(8 + envelope..).ok_or(damaged("its header ends early"))?;
    from_wkb(body).map(Some)
}

/// A geometry from ISO or extended well-known binary.
pub fn from_wkb(bytes: &[u8]) -> Result<Geometry<f64>, WkbError> {
    Reader { bytes, at: 0, little: true }.geometry(0)
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
    little: bool,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], WkbError> {
        let end = self.at + N;
        let slice = self.bytes.get(self.at..end).and_then(|slice| <[u8; N]>::try_from(slice).ok());
        self.at = end;
        slice.ok_or(WkbError::Damaged("it ends early"))
    }

    fn number(&mut self) -> Result<u32, WkbError> {
        let raw = self.take::<4>()?;
        Ok(if self.little { u32::from_le_bytes(raw) } else { u32::from_be_bytes(raw) })
    }

    fn float(&mut self) -> Result<f64, WkbError> {
        let raw = self.take::<8>()?;
        Ok(if self.little { f64::from_le_bytes(raw) } else { f64::from_be_bytes(raw) })
    }

    /// A count of things that take at least `each` bytes.
    fn count(&mut self, each: usize) -> Result<usize, WkbError> {
        let n = self.number()? as usize;
        if n.saturating_mul(each) > self.bytes.len().saturating_sub(self.at) {
            return Err(WkbError::Damaged("it names more parts than it has bytes"));
        }
        Ok(n)
    }

    fn coord(&mut self, dimensions: usize) -> Result<Coord<f64>, WkbError> {
        let (x, y) = (self.float()?, self.float()?);
        for _ in 2..dimensions {
            self.float()?;
        }
        Ok(Coord { x, y })
    }

    fn line(&mut self, dimensions: usize) -> Result<LineString<f64>, WkbError> {
        let n = self.count(8 * dimensions)?;
        (0..n).map(|_| self.coord(dimensions)).collect::<Result<Vec<_>, _>>().map(LineString)
    }

    fn geometry(&mut self, depth: usize) -> Result<Geometry<f64>, WkbError> {
        if depth > 4 {
            return Err(WkbError::Damaged("it is nested too deep"));
        }
        self.little = self.take::<1>()?[0] != 0;
        let code = self.number()?;
        if code & 0x2000_0000 != 0 {
            self.number()?; // the SRS number that extended WKB carries
        }
        let plain = code & 0x0fff_ffff;
        let dimensions = 2
            + usize::from(code & 0x8000_0000 != 0 || matches!(plain / 1000, 1 | 3))
            + usize::from(code & 0x4000_0000 != 0 || matches!(plain / 1000, 2 | 3));
        Ok(match plain % 1000 {
            1 => Geometry::Point(Point(self.coord(dimensions)?)),
            2 => Geometry::LineString(self.line(dimensions)?),
            3 => {
                let n = self.count(4)?;
                let mut rings = (0..n).map(|_| self.line(dimensions)).collect::<Result<Vec<_>, _>>()?;
                if rings.is_empty() {
                    return Ok(Geometry::Polygon(Polygon::new(LineString(vec![]), vec![])));
                }
                let outer = rings.remove(0);
                Geometry::Polygon(Polygon::new(outer, rings))
            }
            4 => Geometry::MultiPoint(MultiPoint(self.parts(depth, |part| match part {
                Geometry::Point(point) => Some(point),
                _ => None,
            })?)),
            5 | 11 => Geometry::MultiLineString(MultiLineString(self.parts(depth, line_of)?)),
            6 | 12 => Geometry::MultiPolygon(MultiPolygon(self.parts(depth, |part| match part {
                Geometry::Polygon(polygon) => Some(polygon),
                _ => None,
            })?)),
            7 => Geometry::GeometryCollection(GeometryCollection(self.parts(depth, Some)?)),
            8 => Geometry::LineString(LineString(curve::through(&self.line(dimensions)?.0))),
            9 => Geometry::LineString(joined(self.parts(depth, line_of)?)),
            10 => {
                let mut rings = self.parts(depth, line_of)?.into_iter();
                let outer = rings.next().unwrap_or_else(|| LineString(vec![]));
                Geometry::Polygon(Polygon::new(outer, rings.collect()))
            }
            15..=17 => return Err(WkbError::Unsupported("surface of triangles or faces")),
            _ => return Err(WkbError::Damaged("its type is unknown")),
        })
    }

    fn parts<T>(&mut self, depth: usize, pick: impl Fn(Geometry<f64>) -> Option<T>) -> Result<Vec<T>, WkbError> {
        let n = self.count(5)?;
        (0..n).map(|_| pick(self.geometry(depth + 1)?).ok_or(WkbError::Damaged("a part is of the wrong type"))).collect()
    }
}

fn line_of(part: Geometry<f64>) -> Option<LineString<f64>> {
    match part {
        Geometry::LineString(line) => Some(line),
        _ => None,
    }
}

/// The pieces of a compound curve as one line; the end of one is the beginning of the next.
fn joined(parts: Vec<LineString<f64>>) -> LineString<f64> {
    let mut whole: Vec<Coord<f64>> = Vec::new();
    for part in parts {
        let again = whole.last().is_some_and(|last| part.0.first() == Some(last));
        whole.extend(part.0.into_iter().skip(usize::from(again)));
    }
    LineString(whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    fn holed() -> Geometry<f64> {
        let polygon = polygon!(
            exterior: [(x: 0.1, y: 0.0), (x: 4.0, y: 0.3), (x: 4.0, y: 4.0), (x: 0.1, y: 0.0)],
            interiors: [[(x: 1.0, y: 0.5), (x: 2.0, y: 0.5), (x: 2.0, y: 1.0), (x: 1.0, y: 0.5)]],
        );
        Geometry::MultiPolygon(MultiPolygon(vec![polygon]))
    }

    #[test]
    fn what_is_written_reads_back_the_same() {
        for shape in
            [holed(), Geometry::Point(Point::new(1.5, -2.25)), Geometry::LineString(vec![(0.0, 1.0), (2.0, 3.0)].into())]
        {
            assert_eq!(from_gpkg_blob(&to_gpkg_blob(&shape, 4326)), Ok(Some(shape)));
        }
    }

    #[test]
    fn every_truncation_is_an_error_and_none_a_panic() {
        let blob = to_gpkg_blob(&holed(), 4326);
        for end in 0..blob.len() {
            assert!(from_gpkg_blob(&blob[..end]).is_err(), "{end} bytes were taken for a geometry");
        }
    }

    #[test]
    fn big_endian_with_z_and_an_absurd_count() {
        let mut wkb = vec![0];
        wkb.extend(1001u32.to_be_bytes());
        for value in [1.0f64, 2.0, 99.0] {
            wkb.extend(value.to_be_bytes());
        }
        assert_eq!(from_wkb(&wkb), Ok(Geometry::Point(Point::new(1.0, 2.0))));
        let mut absurd = vec![1];
        absurd.extend(2u32.to_le_bytes());
        absurd.extend(u32::MAX.to_le_bytes());
        assert!(matches!(from_wkb(&absurd), Err(WkbError::Damaged(_))));
    }
}
