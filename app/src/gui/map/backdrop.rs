//! placeholder until the next commit
use super::mercator::Screen;
use crate::gui::background::Background;
use egui::Painter;
#[derive(Default)]
pub struct Backdrop {}
impl Backdrop {
    pub fn draw(&mut self, _p: &Painter, _s: &Screen, _b: &Background) -> Option<String> {
        None
    }
}
