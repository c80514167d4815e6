//! The list of actions that is searched by typing.

use awn_core::model::FieldId;

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;

/// The list while it is open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Palette {
    /// What was typed.
    pub text: String,
    /// Which line is marked.
    pub at: usize,
}

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// Something to do.
    Action(Action),
    /// A field to choose and zoom to.
    Field(FieldId, String),
}

/// Fields are offered once this many letters are typed, and no more than so many.
const LETTERS: usize = 2;
const FIELDS: usize = 6;

/// The actions that can be done now and the fields whose names hold every word typed. Those that begin with it come first.
pub fn found(ctx: &Ctx<'_>, text: &str) -> Vec<Found> {
    let typed = text.trim().to_lowercase();
    let words: Vec<&str> = typed.split_whitespace().collect();
    let fits = |name: &str| words.iter().all(|word| name.contains(word));
    let mut actions: Vec<(bool, Action)> = Action::ALL
        .iter()
        .copied()
        .filter(|action| *action != Action::ShowPalette && action.enabled(ctx))
        .filter_map(|action| {
            let name = action.text().to_lowercase();
            let tip = action.tooltip().to_lowercase();
            (fits(&name) || typed.len() > LETTERS && fits(&tip))
                .then(|| (!(fits(&name) && name.starts_with(&typed)), action))
        })
        .collect();
    actions.sort_by_key(|(later, _)| *later);
    let mut list: Vec<Found> = actions.into_iter().map(|(_, action)| Found::Action(action)).collect();
    if typed.chars().count() >= LETTERS {
        let rows = ctx.facts.rows.iter().filter(|row| fits(&row.name.to_lowercase()));
        list.extend(rows.take(FIELDS).map(|row| Found::Field(row.id, row.name.clone())));
    }
    list
}
