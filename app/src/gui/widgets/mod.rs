//! Small parts that panels share.

mod chip;
mod icons;
mod parts;

pub use chip::rating_chip;
pub use icons::{Icon, icon_button};
pub use parts::{action_button, choice, empty, head, line_to_type, menu_item, next_step, note, section, small};
