//! Non-chemical measures: published means and ranges, and what several would come to together.
//!
//! Takes keys of `assets/tables/measures.csv`, in which each row has its source; gives reductions in % against the same field
//! without the measure. That several measures work independently, so that what each leaves is multiplied, is an assumption
//! that no experiment in the table has tested: results say so, and are ranges.

use std::sync::OnceLock;

/// What a measure makes less.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ActsOn {
    /// Plants a m2 in the crop.
    Plants,
    /// Heads a m2, of the plants that are there.
    Heads,
    /// Viable seed in the soil, from one year to the next.
    Seedbank,
}

impl ActsOn {
    /// The word for it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Plants => "plants",
            Self::Heads => "heads",
            Self::Seedbank => "seed in the soil",
        }
    }
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// Short name for files and the command line.
    pub key: String,
    /// What is done.
    pub name: String,
    /// What it is compared with.
    pub instead_of: String,
    /// What is made less.
    pub acts_on: ActsOn,
    /// Published mean reduction, %.
    pub mean: f64,
    /// Published range of single experiments, %; negative: an increase. None: no range was found.
    pub range: Option<[f64; 2]>,
    /// Publication.
    pub source: String,
    /// How the figures were come by.
    pub confidence: String,
}

impl Measure {
    /// "−50 % plants (range −97 to +71 %)": what becomes of what it acts on.
    pub fn label(&self) -> String {
        let range = match self.range {
            Some([low, high]) => format!("range {} to {} %", signed(-high), signed(-low)),
            None => "no range published".to_owned(),
        };
        format!("{} % {} ({range})", signed(-self.mean), self.acts_on.label())
    }
}

/// With a sign that is as wide as a figure.
fn signed(value: f64) -> String {
    if value < 0.0 { format!("−{}", -value) } else { format!("+{value}") }
}

/// All measures, in the order of the table.
pub fn measures() -> &'static [Measure] {
    static TABLE: OnceLock<Vec<Measure>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let text = include_str!("../../../assets/tables/measures.csv");
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        reader.records().filter_map(Result::ok).filter_map(|row| read(&row)).collect()
    })
}

fn read(row: &csv::StringRecord) -> Option<Measure> {
    let text = |at: usize| row.get(at).map(str::trim).map(ToOwned::to_owned);
    let number = |at: usize| row.get(at)?.trim().parse::<f64>().ok();
    Some(Measure {
        key: text(0)?,
        name: text(1)?,
        instead_of: text(2)?,
        acts_on: match row.get(3)?.trim() {
            "plants" => ActsOn::Plants,
            "heads" => ActsOn::Heads,
            "seedbank" => ActsOn::Seedbank,
            _ => return None,
        },
        mean: number(4)?,
        range: number(5).zip(number(6)).map(|(low, high)| [low, high]),
        source: text(7)?,
        confidence: text(8)?,
    })
}

/// The measure of a key.
pub fn measure(key: &str) -> Option<&'static Measure> {
    measures().iter().find(|measure| measure.key == key.trim())
}

/// What several measures together leave of heads, as shares of what there would be without; above 1: more.
#[derive(Debug, Clone, PartialEq)]
pub struct Combined {
    /// If each worked as in its most successful experiment.
    pub least: f64,
    /// If each worked as on average.
    pub mean: f64,
    /// If each worked as in its least successful experiment.
    pub most: f64,
    /// Measures that are left out: they have no published range, or act on the seedbank over years.
    pub left_out: Vec<&'static Measure>,
}

/// What measures on plants and heads leave of heads, multiplied (an assumption: that they work independently); none if none of
/// them has a range.
pub fn combined<'a>(keys: impl Iterator<Item = &'a str>) -> Option<Combined> {
    let mut result = Combined { least: 1.0, mean: 1.0, most: 1.0, left_out: Vec::new() };
    let mut any = false;
    let mut seen: Vec<&str> = Vec::new();
    for found in keys.filter_map(measure) {
        if seen.contains(&found.key.as_str()) {
            continue;
        }
        seen.push(&found.key);
        match found.range.filter(|_| found.acts_on != ActsOn::Seedbank) {
            Some([low, high]) => {
                any = true;
                result.least *= 1.0 - high / 100.0;
                result.mean *= 1.0 - found.mean / 100.0;
                result.most *= 1.0 - low / 100.0;
            }
            None => result.left_out.push(found),
        }
    }
    any.then_some(result)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_as_in_the_abstract() {
        // Lutman et al. 2013, abstract: 69 % (ploughing), about 50 % (drilling end of October), 88 % (spring crop), 15 % of heads
        // for each 100 plants/m2, 22 % of heads (cultivar).
        let mean = |key: &str| measure(key).unwrap().mean;
        let found = ["plough", "late-drilling", "spring-crop", "seed-rate", "competitive-cultivar"].map(mean);
        assert_eq!(found, [69.0, 50.0, 88.0, 15.0, 22.0]);
        let lines =
            include_str!("../../../assets/tables/measures.csv").lines().filter(|line| !line.starts_with('#')).count();
        assert_eq!(measures().len(), lines - 1, "every row is read");
        for row in measures() {
            assert!(!row.source.is_empty() && !row.confidence.is_empty(), "{}", row.key);
            if let Some([low, high]) = row.range {
                assert!(low <= row.mean && row.mean <= high && high < 100.0, "{}", row.key);
            }
        }
        assert_eq!(measure("plough").unwrap().label(), "−69 % plants (range −96 to +82 %)");
    }

    #[test]
    fn together_they_multiply_and_stay_a_range() {
        let both = combined(["spring-crop", "competitive-cultivar"].into_iter()).unwrap();
        assert!((both.mean - 0.12 * 0.78).abs() < 1e-12);
        assert!((both.least - 0.04 * 0.55).abs() < 1e-12 && (both.most - 0.22 * 0.92).abs() < 1e-12);
        let again = combined(["competitive-cultivar", "spring-crop", "spring-crop"].into_iter()).unwrap();
        assert!((again.mean - both.mean).abs() < 1e-15, "neither order nor repeats count");
        assert_eq!(combined(["stale-seedbed", "fallow-or-ley", "unheard-of"].into_iter()), None);
        let with = combined(["plough", "stale-seedbed"].into_iter()).unwrap();
        assert_eq!(with.left_out.len(), 1);
        assert!(with.most > 1.0, "ploughing brought seed up in some experiments");
    }
}
