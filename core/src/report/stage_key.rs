//! Classes of fields by where their samples are on their way; the same as in the window.

use std::sync::Arc;

use crate::model::{Field, Records, Stage};
use crate::report::classes::{Class, Key, Over};
use crate::report::palette::{self, Rgb};
use crate::samples::stage_of;

/// Fill of a stage: the darker, the further on; what is done or given up stands back.
fn fill(stage: Stage) -> Rgb {
    match stage {
        Stage::Planned => palette::AGE[5],
        Stage::Collected => palette::AGE[4],
        Stage::Dried => palette::AGE[3],
        Stage::Sealed => palette::AGE[2],
        Stage::Posted => palette::AGE[1],
        Stage::Received => palette::AGE[0],
        Stage::Reported | Stage::Lost | Stage::Withdrawn => palette::RAISED,
    }
}

/// Fields by the least advanced of their samples of a harvest year that are neither lost nor withdrawn, or else of all.
pub fn stages(records: &Records, year: i32, fields: &[Arc<Field>]) -> Key {
    let over = |stage| if stage == Stage::Lost { Over::Hatch } else { Over::Nothing };
    let mut classes: Vec<Class> =
        Stage::ALL.iter().map(|stage| Class::new(stage.letter(), stage.meaning(), fill(*stage), over(*stage))).collect();
    classes.push(Class::new("", "no sample this harvest", palette::GROUND, Over::Nothing));
    let none = classes.len() - 1;
    let mut key = Key::new("Samples on their way", classes);
    let samples = records.samples_in(year);
    for field in fields {
        let own = samples.iter().filter(|sample| sample.field == field.id).map(|sample| stage_of(records, sample));
        let (given_up, alive): (Vec<Stage>, Vec<Stage>) =
            own.partition(|stage| matches!(stage, Stage::Lost | Stage::Withdrawn));
        let list = if alive.is_empty() { given_up } else { alive };
        let Some(first) = list.iter().min() else {
            key.put(field, none, Over::Nothing, String::new());
            continue;
        };
        let mark = match list.len() {
            1 => first.letter().to_owned(),
            many => format!("{} 1/{many}", first.letter()),
        };
        key.put(field, *first as usize, over(*first), mark);
    }
    key.drop_empty();
    key.sources = vec![format!("{} samples of harvest {year}.", samples.len())];
    key
}
