//! Colours of classes stay apart for every kind of colour vision, on paper and in both themes of the window.
//!
//! Colour-vision deficiency: matrices of Machado, Oliveira & Fernandes (2009), "A physiologically-based model for simulation of
//! color vision deficiency", IEEE TVCG 15(6), table for severity 1.0, applied to linear RGB (figures from memory). Distance:
//! CIEDE2000 (Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1)), held to pairs of its table 1 (from memory).

#![allow(clippy::unreadable_literal)] // figures stand as they were published

use awn_core::report::palette::{AGE, AT_RISK, CONTROL_LEFT, DENSITY, GROUND, RATING, Rgb, contrast, text_on};

const SIGHTS: [(&str, [[f64; 3]; 3]); 4] = [
    ("full", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    ("protan", [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    ("deutan", [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    ("tritan", [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
];

fn linear(colour: Rgb) -> [f64; 3] {
    colour.map(|channel| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    })
}

fn times(matrix: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

/// CIE L*a*b* (D65) as seen with a kind of sight.
fn lab(colour: Rgb, sight: &[[f64; 3]; 3]) -> [f64; 3] {
    const TO_XYZ: [[f64; 3]; 3] =
        [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]];
    let seen = times(sight, linear(colour)).map(|c| c.clamp(0.0, 1.0));
    let [x, y, z] = times(&TO_XYZ, seen);
    let f = |t: f64| if t > (6.0_f64 / 29.0).powi(3) { t.cbrt() } else { t * (29.0_f64 / 6.0).powi(2) / 3.0 + 4.0 / 29.0 };
    let (x, y, z) = (f(x / 0.95047), f(y), f(z / 1.08883));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn ciede2000([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3]) -> f64 {
    let seventh = |c: f64| (c.powi(7) / (c.powi(7) + 25_f64.powi(7))).sqrt();
    let g = 0.5 * (1.0 - seventh(f64::midpoint(a1.hypot(b1), a2.hypot(b2))));
    let (a1, a2) = (a1 * (1.0 + g), a2 * (1.0 + g));
    let (c1, c2) = (a1.hypot(b1), a2.hypot(b2));
    let hue = |a: f64, b: f64| if a == 0.0 && b == 0.0 { 0.0 } else { b.atan2(a).to_degrees().rem_euclid(360.0) };
    let (h1, h2) = (hue(a1, b1), hue(a2, b2));
    let grey = c1 * c2 == 0.0;
    let turn = if grey { 0.0 } else { (h2 - h1 + 180.0).rem_euclid(360.0) - 180.0 };
    let dh = 2.0 * (c1 * c2).sqrt() * (turn.to_radians() / 2.0).sin();
    let mean_hue = if grey {
        h1 + h2
    } else if (h1 - h2).abs() <= 180.0 {
        f64::midpoint(h1, h2)
    } else if h1 + h2 < 360.0 {
        (h1 + h2 + 360.0) / 2.0
    } else {
        (h1 + h2 - 360.0) / 2.0
    };
    let (l, c) = (f64::midpoint(l1, l2), f64::midpoint(c1, c2));
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(mean_hue - 30.0) + 0.24 * cos(2.0 * mean_hue) + 0.32 * cos(3.0 * mean_hue + 6.0)
        - 0.20 * cos(4.0 * mean_hue - 63.0);
    let sl = 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt();
    let (sc, sh) = (1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let rotation = -(2.0 * 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp()).to_radians().sin() * 2.0 * seventh(c);
    let (dl, dc, dh) = ((l2 - l1) / sl, (c2 - c1) / sc, dh / sh);
    (dl * dl + dc * dc + dh * dh + rotation * dc * dh).sqrt()
}

#[test]
fn the_distance_is_the_published_one() {
    // Sharma, Wu & Dalal (2005), table 1, pairs 1, 7, 17, 18, 20, 25.
    for (a, b, published) in [
        ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
        ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
        ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
        ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
        ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
        ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
    ] {
        let found = ciede2000(a, b);
        assert!((found - published).abs() < 1e-4, "{a:?} {b:?}: {found}, published {published}");
    }
}

/// The least distance between neighbours of a scale, over all kinds of sight.
fn least_step(scale: &[Rgb]) -> (f64, &'static str) {
    let mut least = (f64::INFINITY, "");
    for (name, sight) in &SIGHTS {
        for pair in scale.windows(2) {
            let step = ciede2000(lab(pair[0], sight), lab(pair[1], sight));
            if step < least.0 {
                least = (step, name);
            }
        }
    }
    least
}

#[test]
fn neighbouring_classes_stay_apart_for_every_kind_of_sight() {
    // 2.3 is about what can just be told apart side by side (Mahy et al. 1994, for CIELAB; from memory). Fields of one class lie
    // apart on the map, so several times that is asked for: 14 between ratings, which matter most, 10 between other classes.
    for (name, scale, asked) in [
        ("rating", &RATING[..], 14.0),
        ("age", &AGE[..], 10.0),
        ("density", &DENSITY[..], 10.0),
        ("control left", &CONTROL_LEFT[..], 10.0),
        ("money at risk", &AT_RISK[..], 10.0),
    ] {
        let (least, sight) = least_step(scale);
        println!("{name}: smallest step {least:.1} ({sight})");
        assert!(least >= asked, "{name}: {least:.1} with {sight} sight");
    }
}

#[test]
fn every_scale_runs_one_way_in_grey() {
    // So that a photocopy keeps the order of the classes.
    for scale in [&RATING[..], &AGE[..], &DENSITY[..], &CONTROL_LEFT[..], &AT_RISK[..]] {
        let grey: Vec<f64> = scale.iter().map(|colour| lab(*colour, &SIGHTS[0].1)[0]).collect();
        let falls = grey.windows(2).all(|pair| pair[0] - pair[1] > 5.0);
        let rises = grey.windows(2).all(|pair| pair[1] - pair[0] > 5.0);
        assert!(falls || rises, "{grey:?}");
    }
}

/// A colour after a press: inks of the three complements, whose dots grow by 16 of 100 in the middle tones, as ISO 12647-2 allows for
/// coated paper (from memory), on paper that sends back nine tenths of the light.
fn printed(colour: Rgb) -> Rgb {
    colour.map(|channel| {
        let dot = 1.0 - f64::from(channel) / 255.0;
        let grown = (dot + 4.0 * 0.16 * dot * (1.0 - dot)).min(1.0);
        (255.0 * (1.0 - grown) * 0.9_f64.powf(1.0 / 2.2)).round() as u8
    })
}

#[test]
fn classes_stay_apart_on_printed_pages_in_colour_and_in_grey() {
    for (name, scale, asked) in [
        ("rating", &RATING[..], 10.0),
        ("age", &AGE[..], 6.0),
        ("density", &DENSITY[..], 6.0),
        ("control left", &CONTROL_LEFT[..], 6.0),
        ("money at risk", &AT_RISK[..], 6.0),
    ] {
        let paper: Vec<Rgb> = scale.iter().map(|colour| printed(*colour)).collect();
        let (least, sight) = least_step(&paper);
        println!("{name} on paper: smallest step {least:.1} ({sight})");
        assert!(least >= asked, "{name}: {least:.1} with {sight} sight");
        let grey: Vec<f64> = paper.iter().map(|colour| lab(*colour, &SIGHTS[0].1)[0]).collect();
        let falls = grey.windows(2).all(|pair| pair[0] - pair[1] > 4.0);
        let rises = grey.windows(2).all(|pair| pair[1] - pair[0] > 4.0);
        assert!(falls || rises, "{name}: {grey:?}");
        for colour in &paper {
            assert!(contrast(text_on(*colour), *colour) >= 4.5, "{name}: {colour:?}");
        }
    }
}

#[test]
fn lines_over_a_class_can_be_seen_on_it() {
    // WCAG 2.1, success criterion 1.4.11: 3 to 1 for parts of a picture that are needed to understand it. Hatching and letters
    // have the colour of text on the class; untested ground is hatched in ink on the ground of either theme.
    let classes = RATING.into_iter().chain(AGE).chain(DENSITY).chain(CONTROL_LEFT).chain(AT_RISK);
    for colour in classes.chain([GROUND]) {
        assert!(contrast(text_on(colour), colour) >= 4.5, "{colour:?}");
    }
    for theme in [egui::Theme::Light, egui::Theme::Dark] {
        let tokens = awn::gui::style::tokens(theme);
        assert!(awn::gui::style::contrast(tokens.ink, tokens.ground) >= 7.0);
    }
}
