//! The words of reports, by key, in one file for each language: `assets/words/report.en.json`.
//!
//! A text holds places for figures as `{name}`. Where a count changes the wording, the key has the ends `.one` and `.other`.
//! Words of another language may leave keys out; these stay English.

use std::collections::BTreeMap;

const ENGLISH: &str = include_str!("../../../assets/words/report.en.json");

/// The words of one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words(BTreeMap<String, String>);

impl Words {
    /// British English.
    pub fn english() -> Self {
        Self(serde_json::from_str(ENGLISH).unwrap_or_default())
    }

    /// The words of a file in JSON, over the English ones. An error says what is wrong with it.
    pub fn from_json(text: &str) -> Result<Self, String> {
        let other: BTreeMap<String, String> =
            serde_json::from_str(text).map_err(|error| format!("the words are no table of texts: {error}"))?;
        let mut words = Self::english();
        let strange: Vec<&str> = other.keys().filter(|key| !words.0.contains_key(*key)).map(String::as_str).collect();
        if !strange.is_empty() {
            return Err(format!("there are no such words in a report: {}", strange.join(", ")));
        }
        words.0.extend(other);
        Ok(words)
    }

    /// Every text by its key.
    pub fn all(&self) -> &BTreeMap<String, String> {
        &self.0
    }

    /// The text of a key with its places filled; the key itself where there is none.
    pub fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        let mut text = self.0.get(key).cloned().unwrap_or_else(|| key.to_owned());
        for (name, value) in places {
            text = text.replace(&format!("{{{name}}}"), value);
        }
        text
    }

    /// The text for a count, which fills the place `{n}`.
    pub fn count(&self, key: &str, n: usize, places: &[(&str, &str)]) -> String {
        let key = format!("{key}.{}", if n == 1 { "one" } else { "other" });
        let number = n.to_string();
        let mut all = vec![("n", number.as_str())];
        all.extend_from_slice(places);
        self.say(&key, &all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_choose_their_wording_and_other_languages_fill_in() {
        let words = Words::from_json(r#"{"fields.one": "{n} Schlag", "fields.other": "{n} Schläge"}"#).unwrap();
        assert_eq!((words.count("fields", 1, &[]), words.count("fields", 3, &[])), ("1 Schlag".into(), "3 Schläge".into()));
        assert_eq!(words.say("rating.S", &[]), Words::english().say("rating.S", &[]));
        assert!(Words::from_json(r#"{"no.such.key": "x"}"#).unwrap_err().contains("no.such.key"));
        assert!(Words::from_json("[1]").is_err());
    }
}
