//! What came back from the laboratory in four autumns: one file a year.

use crate::SampleFile;
use crate::dice::Dice;
use crate::fields::Estate;
use crate::names::{SPLIT, SPLIT_YEAR, WHOLE};
use crate::weeds::Weed;

const FILES: [(&str, i32); 4] =
    [("results-2019.csv", 2019), ("results-2021.csv", 2021), ("results-2024.csv", 2024), ("results-2026.csv", 2026)];

/// Active, assay, dose as a laboratory writes it, plants or seeds in the test. Doses of the dish tests as commonly used
/// (Moss 2000, Rothamsted petri-dish test, from memory).
const TESTS: [(&str, &str, &str, u32); 5] = [
    ("pendimethalin", "petri", "5 ppm", 100),
    ("fenoxaprop", "petri", "10 ppm", 100),
    ("cycloxydim", "petri", "5 ppm", 100),
    ("mesosulfuron+iodosulfuron", "pot", "12+2.5 g/ha", 60),
    ("flufenacet", "pot", "240 g/ha", 60),
];

/// The published limits as shares of the susceptible standard: below each the rating is one worse (Moss et al. 1999).
const LIMITS: [f64; 3] = [0.90, 0.80, 0.40];
const LABELS: [&str; 4] = ["S", "R?", "RR", "RRR"];

struct Row {
    year: i32,
    sample: String,
    field: &'static str,
    test: usize,
    reduction: f64,
    standard: f64,
    se: f64,
    printed: usize,
}

/// The results files.
pub fn files(estate: &Estate, weeds: &[Weed]) -> Vec<SampleFile> {
    let mut rows = rows(estate, weeds);
    disagree_at_limits(&mut rows);
    let file = |(name, year): &(&'static str, i32)| {
        let mut text =
            String::from("sample,field,year,assay,active,reduction_percent,standard_percent,se,n,dose,lab_rating\n");
        for row in rows.iter().filter(|row| row.year == *year) {
            let (active, assay, dose, n) = TESTS[row.test];
            text.push_str(&format!(
                "{},{},{},{assay},{active},{:.1},{:.1},{:.1},{n},{dose},{}\n",
                row.sample, row.field, row.year, row.reduction, row.standard, row.se, LABELS[row.printed]
            ));
        }
        SampleFile { name, bytes: text.into_bytes() }
    };
    FILES.iter().map(file).collect()
}

/// The envelopes whose results came back in a year, each with its field.
pub fn envelopes(estate: &Estate, weeds: &[Weed], year: i32) -> Vec<(String, &'static str)> {
    let mut list: Vec<(String, &'static str)> =
        rows(estate, weeds).into_iter().filter(|row| row.year == year).map(|row| (row.sample, row.field)).collect();
    list.dedup();
    list
}

fn rows(estate: &Estate, weeds: &[Weed]) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut dice = Dice::new(900);
    for (_, year) in FILES {
        let standards: Vec<f64> = TESTS.iter().map(|_| (dice.between(82.0, 97.0) * 10.0).round() / 10.0).collect();
        let mut envelope = 0;
        for (number, (land, weed)) in estate.lands.iter().zip(weeds).enumerate() {
            let half = SPLIT.contains(&land.name);
            let field = if half && year < SPLIT_YEAR { WHOLE } else { land.name };
            if !tested(number, half, year) || (field == WHOLE && land.name != SPLIT[0]) {
                continue;
            }
            envelope += 1;
            let sample = format!("SF{}-{envelope:02}", year % 100);
            for (test, standard) in standards.iter().enumerate() {
                rows.push(row(weed, field, year, sample.clone(), (test, *standard), &mut dice));
            }
        }
    }
    rows
}

/// Which fields are tested when: by turns, some never, some not since 2019 or 2021. The split field in all but 2024.
fn tested(number: usize, half: bool, year: i32) -> bool {
    if half {
        return year != 2024;
    }
    match number % 8 {
        0 => year == 2019 || year == 2024,
        1 => year == 2021 || year == 2026,
        2 => year == 2019,
        3 => year == 2024,
        4 => year == 2019 || year == 2021 || year == 2026,
        5 => year == 2021,
        6 => false,
        _ => year == 2021 || year == 2024,
    }
}

fn row(weed: &Weed, field: &'static str, year: i32, sample: String, (test, standard): (usize, f64), dice: &mut Dice) -> Row {
    let (active, assay, _, n) = TESTS[test];
    let spread = if assay == "pot" { 4.0 } else { 2.2 };
    let expected = standard * weed.control_left(active, year);
    let reduction = ((expected + spread * dice.normal()).clamp(-8.0, 99.5) * 10.0).round() / 10.0;
    let share = (reduction / 100.0).clamp(0.02, 0.98);
    let binomial = 100.0 * libm::sqrt(share * (1.0 - share) / f64::from(n));
    let se = if assay == "pot" { binomial + dice.between(0.5, 2.0) } else { binomial };
    Row { year, sample, field, test, reduction, standard, se, printed: class(reduction, standard) }
}

fn class(reduction: f64, standard: f64) -> usize {
    LIMITS.iter().filter(|limit| reduction < **limit * standard).count()
}

/// In the two results nearest to a limit the laboratory, which looks at more than one figure, printed the class beyond it.
fn disagree_at_limits(rows: &mut [Row]) {
    let distance = |row: &Row| LIMITS.iter().map(|limit| (row.reduction / row.standard - limit).abs()).fold(1.0, f64::min);
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by(|a, b| distance(&rows[*a]).total_cmp(&distance(&rows[*b])));
    for row in order.into_iter().take(2) {
        let row = &mut rows[row];
        let nearest = (0..LIMITS.len()).min_by(|a, b| {
            let off = |i: &usize| (row.reduction / row.standard - LIMITS[*i]).abs();
            off(a).total_cmp(&off(b))
        });
        if let Some(limit) = nearest {
            row.printed = if row.printed == limit { limit + 1 } else { limit };
        }
    }
}
