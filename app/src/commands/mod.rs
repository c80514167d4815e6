//! Commands on the project that the command line and the window share.

mod act;
mod clock;
mod files;
mod ground;
mod plans;
mod samples;
mod season;

pub use act::{copy_programme, put_programme, remove_programme};
pub use clock::today;
pub use files::{drawing, picture, write, write_data};
pub use ground::{add_gate, add_no_go, lay_tramlines, move_gate, remove_gate, remove_no_go, remove_tramlines, reshape};
pub use plans::{discard, keep_plans, set_aside, use_plan};
pub use samples::{card_pdf, fields_planned, form_bytes, labels_pdf, samples_alive, samples_coded, submissions, who_plans};
pub use season::{keep_check, keep_rounds, mark, remove_check, set_due_rules, set_season};
