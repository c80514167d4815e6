//! x
use awn_core::{model::Records, project::Command};
/// x
pub struct SampleFile {
    /// x
    pub name: &'static str,
    /// x
    pub bytes: Vec<u8>,
}
/// x
pub fn files() -> Vec<SampleFile> {
    vec![]
}
/// x
pub fn extras(_r: &Records) -> Command {
    Command { name: String::new(), changes: vec![] }
}
/// x
pub const SEASON: i32 = 2027;
/// x
pub fn date_in(_n: &str) -> jiff::civil::Date {
    jiff::civil::date(2026, 6, 1)
}
