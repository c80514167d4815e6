//! From keys to actions.

use egui::{Key, KeyboardShortcut, Modifiers};

use crate::gui::action::{Action, ctrl};

impl Action {
    /// Keys that do the same: on many keyboards plus needs Shift, and lies on the key of the equals sign.
    pub fn other_shortcut(self) -> Option<KeyboardShortcut> {
        (self == Self::ZoomIn).then(|| ctrl(Key::Equals))
    }

    /// What these keys mean. Where one shortcut is another with more keys held, the one with more is meant.
    pub fn of_keys(key: Key, held: Modifiers) -> Option<(Self, KeyboardShortcut)> {
        let keys = Self::ALL.iter().flat_map(|action| {
            [action.shortcut(), action.other_shortcut()].into_iter().flatten().map(|keys| (*action, keys))
        });
        let meant = keys.filter(|(_, keys)| keys.logical_key == key && held.matches_logically(keys.modifiers));
        meant.max_by_key(|(_, keys)| keys.modifiers.shift)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_keys_held_mean_the_action_that_wants_them() {
        let shift = Modifiers::COMMAND | Modifiers::SHIFT;
        let of = |key, held| Action::of_keys(key, held).map(|(action, _)| action);
        assert_eq!(of(Key::Z, Modifiers::COMMAND), Some(Action::Undo));
        assert_eq!(of(Key::Z, shift), Some(Action::Redo));
        assert_eq!(of(Key::Z, Modifiers::NONE), None);
        // The plus sign needs Shift on many keyboards.
        for (key, held) in [(Key::Plus, Modifiers::COMMAND), (Key::Plus, shift), (Key::Equals, Modifiers::COMMAND)] {
            assert_eq!(of(key, held), Some(Action::ZoomIn));
        }
    }
}
