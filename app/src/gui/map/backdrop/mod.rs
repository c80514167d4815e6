//! What lies under the fields: tiles from a file or a server, or one picture. Read on a thread; the map draws what has come.

mod picture;
mod tiles;

use egui::Painter;

use super::mercator::Screen;
use crate::backdrop::{Background, Place};

/// What is kept of the background on show.
#[derive(Default)]
pub struct Backdrop {
    of: Background,
    shown: Shown,
}

#[derive(Default)]
enum Shown {
    #[default]
    Nothing,
    Tiles(tiles::Tiles),
    Picture(picture::Picture),
}

impl Backdrop {
    /// Draws what has been read, and asks for the rest; gives the line to show with it: whose map it is, or what went wrong.
    pub fn draw(&mut self, painter: &Painter, screen: &Screen, wanted: &Background) -> Option<String> {
        if self.of != *wanted {
            self.of = wanted.clone();
            self.shown = match wanted {
                Background::Ground => Shown::Nothing,
                Background::Tiles(path) => Shown::Tiles(tiles::Tiles::new(Place::File(path.clone()), painter.ctx())),
                Background::Server(server) => Shown::Tiles(tiles::Tiles::new(Place::Server(server.clone()), painter.ctx())),
                Background::Picture(path) => Shown::Picture(picture::Picture::new(path.clone(), painter.ctx())),
            };
        }
        match &mut self.shown {
            Shown::Nothing => None,
            Shown::Tiles(tiles) => tiles.draw(painter, screen),
            Shown::Picture(picture) => picture.draw(painter, screen),
        }
    }
}
