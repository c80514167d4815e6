//! Where tiles come from: a PMTiles archive (version 3 of its specification) or a server, one at a time.

use std::path::PathBuf;
use std::time::Duration;

use pmtiles::{AsyncPmTilesReader, MmapBackend, TileCoord};

use crate::backdrop::Server;

/// A tile of the pyramid: level, column from the west, row from the north.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct TileId {
    /// Level; each has twice as many columns as the one before.
    pub level: u8,
    /// Column from the west.
    pub column: u32,
    /// Row from the north.
    pub row: u32,
}

/// Where tiles come from.
#[derive(Debug, Clone)]
pub enum Place {
    /// A PMTiles file.
    File(PathBuf),
    /// A server.
    Server(Server),
}

/// What a source says of itself.
#[derive(Debug, Clone, PartialEq)]
pub struct About {
    /// Lowest level with tiles.
    pub lowest: u8,
    /// Highest level with tiles.
    pub highest: u8,
    /// Whose map it is.
    pub credit: String,
}

/// The highest level asked of a server: about 0.3 m of ground to a pixel in England.
const SERVER_HIGHEST: u8 = 19;
/// A server that says nothing for so long is given up for a tile.
const PATIENCE: Duration = Duration::from_secs(20);
/// A tile of more bytes is no tile.
const MOST_BYTES: usize = 16 << 20;

/// An open source.
pub struct Source {
    runtime: tokio::runtime::Runtime,
    kind: Kind,
}

enum Kind {
    File(Box<AsyncPmTilesReader<MmapBackend>>),
    Server(reqwest::Client, Server),
}

impl Source {
    /// Opens a source; the error is a sentence for people.
    pub fn open(place: &Place) -> Result<(Self, About), String> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
        let runtime = runtime.map_err(|error| format!("The background cannot be read: {error}."))?;
        match place {
            Place::File(path) => {
                let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                let wrong = |error: pmtiles::PmtError| {
                    format!("{name} cannot be read as PMTiles ({error}). Choose another background under Layers.")
                };
                let reader = runtime.block_on(AsyncPmTilesReader::new_with_path(path)).map_err(wrong)?;
                let header = reader.get_header();
                let (lowest, highest) = (header.min_zoom, header.max_zoom.max(header.min_zoom));
                let metadata = runtime.block_on(reader.get_metadata()).unwrap_or_default();
                let about = About { lowest, highest, credit: credit(&metadata) };
                Ok((Self { runtime, kind: Kind::File(Box::new(reader)) }, about))
            }
            Place::Server(server) => {
                if let Some(fault) = server.fault() {
                    return Err(fault.to_owned());
                }
                // An error means that it was set before, for the server before this one.
                rustls::crypto::ring::default_provider().install_default().ok();
                let mut client =
                    reqwest::Client::builder().user_agent(concat!("Awn/", env!("CARGO_PKG_VERSION"))).timeout(PATIENCE);
                client = if server.is_here() {
                    // Neither through a proxy nor on to another server.
                    client.no_proxy().redirect(reqwest::redirect::Policy::none())
                } else {
                    client.https_only(true)
                };
                let client = client.build().map_err(|error| format!("The tile server cannot be asked: {error}."))?;
                let about = About { lowest: 0, highest: SERVER_HIGHEST, credit: server.credit.trim().to_owned() };
                Ok((Self { runtime, kind: Kind::Server(client, server.clone()) }, about))
            }
        }
    }

    /// A tile's bytes; none: there is no such tile.
    pub fn tile(&self, id: TileId) -> Result<Option<Vec<u8>>, String> {
        match &self.kind {
            Kind::File(reader) => {
                let coord = TileCoord::new(id.level, id.column, id.row).map_err(|error| error.to_string())?;
                let bytes = self.runtime.block_on(reader.get_tile_decompressed(coord));
                bytes.map(|bytes| bytes.map(|bytes| bytes.to_vec())).map_err(|error| error.to_string())
            }
            Kind::Server(client, server) => {
                let address = server.tile(id.level, id.column, id.row);
                self.runtime.block_on(async {
                    let answer = client.get(address).send().await.map_err(|error| without_address(&error))?;
                    if answer.status() == reqwest::StatusCode::NOT_FOUND {
                        return Ok(None);
                    }
                    let mut answer = answer.error_for_status().map_err(|error| without_address(&error))?;
                    let mut bytes = Vec::new();
                    // A server is not trusted to end by itself.
                    while let Some(more) = answer.chunk().await.map_err(|error| without_address(&error))? {
                        bytes.extend_from_slice(&more);
                        if bytes.len() > MOST_BYTES {
                            return Err("The tile server sends more than a tile holds.".to_owned());
                        }
                    }
                    Ok(Some(bytes))
                })
            }
        }
    }
}

/// What went wrong; addresses can hold a key that is nobody else's business.
fn without_address(error: &reqwest::Error) -> String {
    match error.status() {
        Some(status) => format!("The tile server answers “{status}”."),
        None if error.is_timeout() => "The tile server does not answer.".to_owned(),
        None => "The tile server cannot be reached.".to_owned(),
    }
}

/// The line of thanks in an archive's metadata, without its markup.
fn credit(metadata: &str) -> String {
    let json: serde_json::Value = serde_json::from_str(metadata).unwrap_or_default();
    let text = json.get("attribution").and_then(|text| text.as_str()).unwrap_or_default();
    let (mut plain, mut inside) = (String::new(), false);
    for letter in text.chars() {
        match letter {
            '<' => inside = true,
            '>' => inside = false,
            _ if !inside => plain.push(letter),
            _ => {}
        }
    }
    plain.replace("&copy;", "©").replace("&amp;", "&").trim().chars().take(200).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_credit_is_shown_without_its_markup() {
        assert_eq!(credit(r#"{"attribution":"<a href=\"https://map.example\">&copy; Map people</a>"}"#), "© Map people");
        assert_eq!(credit("not json"), "");
    }

    #[test]
    fn a_server_on_this_computer_gives_tiles_and_is_not_trusted() {
        use std::io::{Read as _, Write as _};
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let serve = move || {
            for stream in listener.incoming() {
                let mut stream = stream.unwrap();
                let mut asked = [0; 2048];
                let length = stream.read(&mut asked).unwrap();
                let asked = String::from_utf8_lossy(&asked[..length]).into_owned();
                let answer = |status: &str, length: usize| {
                    format!("HTTP/1.1 {status}\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n").into_bytes()
                };
                let mut bytes = if asked.starts_with("GET /3/1/2 ") {
                    [answer("200 OK", 4), b"tile".to_vec()].concat()
                } else if asked.starts_with("GET /4/") {
                    answer("200 OK", 64 << 20)
                } else if asked.starts_with("GET /5/") {
                    answer("302 Found\r\nLocation: https://elsewhere.example/", 0)
                } else {
                    answer("404 Not Found", 0)
                };
                if asked.starts_with("GET /4/") {
                    bytes.resize(bytes.len() + (32 << 20), 0);
                }
                stream.write_all(&bytes).ok();
            }
        };
        std::thread::Builder::new().spawn(serve).unwrap();
        let server = Server { address: format!("http://127.0.0.1:{port}/{{z}}/{{x}}/{{y}}"), credit: "Own tiles".into() };
        let (source, about) = Source::open(&Place::Server(server)).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(about.credit, "Own tiles");
        let tile = |level, column, row| source.tile(TileId { level, column, row });
        assert_eq!(tile(3, 1, 2), Ok(Some(b"tile".to_vec())));
        assert_eq!(tile(3, 1, 3), Ok(None));
        assert!(tile(4, 0, 0).unwrap_err().contains("more than a tile"));
        // It is not followed to another server.
        assert!(tile(5, 0, 0).is_ok_and(|bytes| bytes.unwrap_or_default().is_empty()));
    }

    #[test]
    fn an_archive_that_gdal_wrote_gives_its_lanes_where_they_lie() {
        // tests/data/lanes.pmtiles: invented lanes written by GDAL 3.12.4 (driver PMTiles, levels 8 to 14). One runs from 0.215 W,
        // 52.24 N straight to 0.205 W, 52.44 N, and so crosses 52.33 N at 0.2105 W.
        let file = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/data/lanes.pmtiles"));
        let (source, about) = Source::open(&Place::File(file)).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((about.lowest, about.highest), (8, 14));
        // Numbering of the OGC tile matrix set WebMercatorQuad.
        let at = |lon: f64, lat: f64| {
            let row = (1.0 - lat.to_radians().tan().asinh() / std::f64::consts::PI) / 2.0;
            ((lon + 180.0) / 360.0 * 16_384.0, row * 16_384.0)
        };
        let (x, y) = at(-0.2105, 52.33);
        let id = TileId { level: 14, column: x as u32, row: y as u32 };
        let tile = super::super::vector::decode(source.tile(id).unwrap().expect("a tile with a lane")).unwrap();
        assert!(!tile.lines.is_empty() && tile.areas.is_empty());
        // Over a tile's height of 0.013 degrees the lane moves 0.0007 degrees, a thirtieth of a tile.
        let within = |at: &geo::Coord<f32>| (f64::from(at.x) - x.fract()).abs() < 0.05;
        assert!(tile.lines.iter().any(|(_, line)| line.coords().all(within)), "{:?} {}", tile.lines, x.fract());
        assert_eq!(source.tile(TileId { level: 14, column: 0, row: 0 }), Ok(None));
    }

    #[test]
    fn a_file_that_is_no_archive_is_refused_in_words() {
        let file = std::env::temp_dir().join(format!("awn-no-archive-{}.pmtiles", std::process::id()));
        std::fs::write(&file, b"this is no archive, and long enough to hold a header".repeat(8)).unwrap();
        let error = Source::open(&Place::File(file.clone())).err().unwrap();
        std::fs::remove_file(file).unwrap();
        assert!(error.contains("cannot be read as PMTiles"), "{error}");
    }
}
