//! What lies under the fields, on the screen and on paper: tiles from a file or a server, or one picture. Nothing is fetched unless
//! the user names a server.

pub mod mercator;
mod paper;
mod picture;
mod source;
mod vector;

use std::path::PathBuf;

pub use paper::ground;
pub use picture::read as read_picture;
pub use source::{About, Place, Source, TileId};
pub use vector::{Vectors, decode as decode_vectors};

/// What lies under the fields.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Background {
    /// The plain ground.
    #[default]
    Ground,
    /// Map tiles in a PMTiles file, pictures or vectors.
    Tiles(PathBuf),
    /// A picture that says where it lies: GeoTIFF, or with a world file beside it.
    Picture(PathBuf),
    /// A tile server.
    Server(Server),
}

/// A tile server that the user typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Server {
    /// Address with {z}, {x} and {y} where level, column and row go.
    pub address: String,
    /// Whose map it is: shown on the map, as its licence asks.
    pub credit: String,
}

impl Background {
    /// The kind that a file is, by its ending.
    pub fn of_file(path: PathBuf) -> Self {
        match path.extension() {
            Some(ending) if ending.eq_ignore_ascii_case("pmtiles") => Self::Tiles(path),
            _ => Self::Picture(path),
        }
    }

    /// What it is called.
    pub fn label(&self) -> String {
        match self {
            Self::Ground => "Plain ground".into(),
            Self::Tiles(path) | Self::Picture(path) => {
                path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
            }
            Self::Server(server) => server.host().unwrap_or("Tile server").to_owned(),
        }
    }
}

impl Server {
    /// What is wrong with the address, in words; none: nothing.
    pub fn fault(&self) -> Option<&'static str> {
        if self.host().is_none_or(str::is_empty) {
            return Some("The address must begin with https:// and name a server; http:// is for one on this computer.");
        }
        if !["{z}", "{x}", "{y}"].iter().all(|part| self.address.contains(part)) {
            return Some("The address must hold {z}, {x} and {y} where level, column and row go.");
        }
        if self.credit.trim().is_empty() {
            return Some("Say whose map it is; the line is shown on the map.");
        }
        None
    }

    /// The server's name; without encryption only one on this computer counts.
    pub fn host(&self) -> Option<&str> {
        let host_of = |rest: &'_ str| rest.split(['/', '?', '#']).next().unwrap_or_default().len();
        if let Some(rest) = self.address.strip_prefix("https://") {
            return rest.get(..host_of(rest));
        }
        let rest = self.address.strip_prefix("http://")?;
        rest.get(..host_of(rest)).filter(|host| is_here(host))
    }

    /// Whether it runs on this computer, so that nothing leaves it.
    pub fn is_here(&self) -> bool {
        self.host().is_some_and(is_here)
    }

    /// The address of one tile.
    pub fn tile(&self, level: u8, column: u32, row: u32) -> String {
        let address = self.address.replace("{z}", &level.to_string());
        address.replace("{x}", &column.to_string()).replace("{y}", &row.to_string())
    }
}

/// Whether a host, with or without its port, is this computer.
fn is_here(host: &str) -> bool {
    let name =
        host.rsplit_once(':').filter(|(_, port)| port.bytes().all(|c| c.is_ascii_digit())).map_or(host, |(name, _)| name);
    matches!(name, "127.0.0.1" | "localhost" | "[::1]")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_server_must_be_safe_complete_and_credited() {
        let server = |address: &str, credit: &str| Server { address: address.into(), credit: credit.into() };
        assert_eq!(server("https://tiles.example/{z}/{x}/{y}.png", "Example maps").fault(), None);
        for here in ["http://127.0.0.1:8080/{z}/{x}/{y}.png", "http://localhost/{z}/{x}/{y}", "http://[::1]:80/{z}/{x}/{y}"]
        {
            assert!(server(here, "Own tiles").fault().is_none() && server(here, "").is_here(), "{here}");
        }
        for (address, credit) in [
            ("http://127.0.0.1.tiles.example/{z}/{x}/{y}.png", "Example maps"),
            ("http://localhost@tiles.example/{z}/{x}/{y}.png", "Example maps"),
            ("http://tiles.example/{z}/{x}/{y}.png", "Example maps"),
            ("https://tiles.example/{z}/{x}.png", "Example maps"),
            ("https:///{z}/{x}/{y}", "Example maps"),
            ("https://tiles.example/{z}/{x}/{y}.png", " "),
        ] {
            assert!(server(address, credit).fault().is_some(), "{address}");
        }
        let tile = server("https://tiles.example/a/{z}/{x}/{y}.png", "").tile(14, 8171, 5419);
        assert_eq!(tile, "https://tiles.example/a/14/8171/5419.png");
    }
}
