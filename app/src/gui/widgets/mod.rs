//! Small parts that panels share.

mod chart;
mod chip;
mod icons;
mod parts;
mod typed;

pub use chart::{Chart, chart};
pub use chip::{LAB, counted_chip, rating_chip, stage_chip};
pub use icons::{Icon, icon_button, icon_button_with};
pub use parts::{action_button, choice, empty, head, line_to_type, menu_item, next_step, note, section, small};
pub use typed::typed;
