//! Damage to files, drawn from a seed: cut off, turned over, put in, taken out, doubled, counts made absurd, or nothing but noise.

use rand::{Rng as _, RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// Numbers that make a reader count wrong, as a file might hold them.
const ABSURD: [u32; 8] = [0, 1, 0x7f, 0xffff, 0x0100_0000, 0x7fff_ffff, 0x8000_0000, 0xffff_ffff];
/// Words that stand for numbers, and marks that open something, for files of text.
const WORDS: [&str; 12] =
    ["1e308", "-1e308", "NaN", "9999999999999999999999", "\"", "<", "[", "{", "]]>", "<!--", "\u{feff}", "\0"];

/// Harms a file; the same seed does the same harm.
pub fn harm(bytes: &[u8], seed: u64) -> Vec<u8> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut bytes = bytes.to_vec();
    let times = [1, 1, 1, 2, 3, 8][random.random_range(0..6)];
    for _ in 0..times {
        once(&mut bytes, &mut random);
    }
    bytes
}

fn once(bytes: &mut Vec<u8>, random: &mut ChaCha8Rng) {
    if bytes.is_empty() {
        return;
    }
    let length = bytes.len();
    // Counts and lengths stand near the beginning.
    let reach = if random.random_bool(0.5) { length.min(512) } else { length };
    let at = random.random_range(0..reach);
    let end = |span: usize| length.min(at + span);
    match random.random_range(0..10) {
        0 => bytes.truncate(at),
        1 => bytes[at] ^= 1 << random.random_range(0..8),
        2 => bytes[at] = random.random_range(0..=255),
        3 => {
            let number = ABSURD[random.random_range(0..ABSURD.len())];
            let four = if random.random_bool(0.5) { number.to_be_bytes() } else { number.to_le_bytes() };
            // Mostly where a count can stand.
            let at = if random.random_bool(0.7) { at / 4 * 4 } else { at };
            for (place, byte) in bytes.iter_mut().skip(at).zip(four) {
                *place = byte;
            }
        }
        4 => {
            let mut more = vec![0; random.random_range(1..40)];
            random.fill_bytes(&mut more);
            bytes.splice(at..at, more);
        }
        5 => drop(bytes.drain(at..end(random.random_range(1..200)))),
        6 => {
            let part = bytes[at..end(random.random_range(1..400))].to_vec();
            let to = random.random_range(0..=length);
            bytes.splice(to..to, part);
        }
        7 => {
            let word = WORDS[random.random_range(0..WORDS.len())];
            bytes.splice(at..end(random.random_range(0..6)), word.bytes());
        }
        8 => {
            let word = WORDS[random.random_range(4..8)].repeat(random.random_range(1..3000));
            bytes.splice(at..at, word.bytes());
        }
        _ => {
            let keep = at.min(64);
            let mut noise = vec![0; random.random_range(1..2000)];
            random.fill_bytes(&mut noise);
            bytes.truncate(keep);
            bytes.extend(noise);
        }
    }
}

/// The file with every count in its first 256 bytes made absurd, one at a time, in both orders of bytes.
pub fn absurd_counts(bytes: &[u8]) -> impl Iterator<Item = (usize, Vec<u8>)> + '_ {
    let places = (0..bytes.len().min(256).saturating_sub(4)).step_by(4);
    places.flat_map(move |at| {
        [[0xff, 0xff, 0xff, 0x7f], [0x7f, 0xff, 0xff, 0xff], [0xff; 4], [0, 0, 0, 0x10]].into_iter().map(move |four| {
            let mut harmed = bytes.to_vec();
            harmed[at..at + 4].copy_from_slice(&four);
            (at, harmed)
        })
    })
}
