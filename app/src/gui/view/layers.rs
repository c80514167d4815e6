//! What the map draws, in which order, how strongly, and in which lens.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::gui::view::Lens;

/// Something the map draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[allow(missing_docs)]
pub enum Layer {
    Background,
    Fills,
    Density,
    Outlines,
    NoGo,
    Scouting,
    Tramlines,
    Gates,
    Plans,
    Rounds,
    Walked,
    Labels,
}

impl Layer {
    /// Every layer, lowest first.
    pub const ALL: [Self; 12] = [
        Self::Background,
        Self::Fills,
        Self::Density,
        Self::Outlines,
        Self::NoGo,
        Self::Scouting,
        Self::Tramlines,
        Self::Gates,
        Self::Plans,
        Self::Rounds,
        Self::Walked,
        Self::Labels,
    ];

    /// What it is called.
    pub fn label(self) -> &'static str {
        match self {
            Self::Background => "Background",
            Self::Fills => "Colours of fields",
            Self::Density => "Density",
            Self::Outlines => "Field boundaries",
            Self::NoGo => "No-go areas",
            Self::Scouting => "Scouting",
            Self::Tramlines => "Tramlines",
            Self::Gates => "Gates",
            Self::Plans => "Stops and walks",
            Self::Rounds => "Drive of a day",
            Self::Walked => "Walks as walked",
            Self::Labels => "Names and letters",
        }
    }

    /// Whether a lens shows it unless it is switched.
    fn by_default(self, lens: Lens) -> bool {
        match self {
            // Elsewhere tramlines would look like hatching, which has a meaning.
            Self::Tramlines | Self::Plans | Self::Rounds => lens == Lens::Walk,
            Self::Scouting => lens == Lens::Scout,
            Self::Walked => lens == Lens::Samples,
            _ => true,
        }
    }
}

/// Order, opacity and visibility of the layers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayerList {
    /// Lowest first.
    pub order: Vec<Layer>,
    /// Where a lens differs from what it shows by itself.
    switched: BTreeSet<(Lens, Layer)>,
    opacity: [f32; Layer::ALL.len()],
    /// Whether every class has a pattern besides its colour and letter.
    #[serde(default)]
    pub patterns: bool,
}

impl Default for LayerList {
    fn default() -> Self {
        Self { order: Layer::ALL.to_vec(), switched: BTreeSet::new(), opacity: [1.0; Layer::ALL.len()], patterns: false }
    }
}

impl LayerList {
    /// As text, to be kept for the next start.
    pub fn written(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }

    /// From such a text; none if it was written by a program with other layers or lenses.
    pub fn read(text: &str) -> Option<Self> {
        let mut list: Self = serde_json::from_str(text).ok()?;
        let mut sorted = list.order.clone();
        sorted.sort();
        let mut all = Layer::ALL;
        all.sort();
        for opacity in &mut list.opacity {
            *opacity = if opacity.is_finite() { opacity.clamp(0.0, 1.0) } else { 1.0 };
        }
        (sorted == all).then_some(list)
    }

    /// Whether a lens shows a layer.
    pub fn shows(&self, lens: Lens, layer: Layer) -> bool {
        layer.by_default(lens) != self.switched.contains(&(lens, layer))
    }

    /// Shows a layer in a lens, or hides it.
    pub fn set_shown(&mut self, lens: Lens, layer: Layer, shown: bool) {
        if shown == layer.by_default(lens) {
            self.switched.remove(&(lens, layer));
        } else {
            self.switched.insert((lens, layer));
        }
    }

    /// How strongly it is drawn, 0 to 1.
    pub fn opacity(&self, layer: Layer) -> f32 {
        self.opacity[layer as usize]
    }

    /// Draws it more or less strongly, 0 to 1.
    pub fn set_opacity(&mut self, layer: Layer, opacity: f32) {
        self.opacity[layer as usize] = opacity.clamp(0.0, 1.0);
    }

    /// Moves a layer one place up (1) or down (-1).
    pub fn shift(&mut self, layer: Layer, by: isize) {
        let Some(from) = self.order.iter().position(|other| *other == layer) else { return };
        let to = from.saturating_add_signed(by).min(self.order.len() - 1);
        let moved = self.order.remove(from);
        self.order.insert(to, moved);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layer_is_switched_in_one_lens_only_and_keeps_its_place() {
        let mut list = LayerList::default();
        assert!(!list.shows(Lens::Fields, Layer::Tramlines) && list.shows(Lens::Walk, Layer::Tramlines));
        list.set_shown(Lens::Fields, Layer::Tramlines, true);
        list.set_shown(Lens::Walk, Layer::Labels, false);
        assert!(list.shows(Lens::Fields, Layer::Tramlines) && list.shows(Lens::Fields, Layer::Labels));
        assert!(!list.shows(Lens::Walk, Layer::Labels));
        list.shift(Layer::Fills, 1);
        assert_eq!(list.order[1..3], [Layer::Density, Layer::Fills]);
        list.shift(Layer::Background, -1);
        list.shift(Layer::Labels, 5);
        assert_eq!((list.order[0], list.order[11]), (Layer::Background, Layer::Labels));
        list.set_opacity(Layer::Plans, 0.4);
        list.patterns = true;
        assert_eq!(LayerList::read(&list.written()), Some(list));
        for other in ["", "{}", r#"{"order":["Fills"],"switched":[],"opacity":[1,1,1,1,1,1,1,1,1,1,1,1]}"#] {
            assert_eq!(LayerList::read(other), None, "{other}");
        }
    }
}
