//! Letters of old files: by the name in a .cpg file, by the code page byte of a .dbf, or guessed.

use std::borrow::Cow;

use encoding_rs::Encoding;

/// A way to read bytes as letters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum CodePage {
    Web(&'static Encoding),
    /// The upper half of a DOS page; the lower half is ASCII.
    Dos(&'static str),
}

/// The letters of a file's texts, as named by hand: "UTF-8", "1252", "ISO-8859-1", "850".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Letters(pub(super) CodePage);

impl Letters {
    /// Names to choose from, the commonest first.
    pub const COMMON: [&'static str; 6] = ["UTF-8", "windows-1252", "ISO-8859-15", "windows-1250", "CP850", "CP437"];

    /// A text in these letters as UTF-8 with its mark in front, so that no reader guesses again.
    pub(super) fn to_utf8(self, bytes: &[u8]) -> Vec<u8> {
        format!("\u{feff}{}", self.0.decode(bytes).trim_start_matches('\u{feff}')).into_bytes()
    }
}

impl std::str::FromStr for Letters {
    type Err = String;

    fn from_str(name: &str) -> Result<Self, Self::Err> {
        of_name(name).map(Self).ok_or_else(|| {
            format!("“{name}” names no encoding; write one of {}, or another name of the kind", Self::COMMON.join(", "))
        })
    }
}

/// UTF-8.
pub(super) const UTF_8: CodePage = CodePage::Web(encoding_rs::UTF_8);
/// Windows-1252, the usual page of Western Europe.
pub(super) const WESTERN: CodePage = CodePage::Web(encoding_rs::WINDOWS_1252);

/// Code page 437, bytes 128 to 255.
const CP437: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀\
αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u{a0}";
/// Code page 850, bytes 128 to 255.
const CP850: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒáíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐└┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀\
ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u{ad}±‗¾¶§÷¸°¨·¹³²■\u{a0}";

impl CodePage {
    /// The letters; what is no letter of the page becomes the replacement character.
    pub fn decode(self, bytes: &[u8]) -> String {
        match self {
            Self::Web(encoding) => encoding.decode_without_bom_handling(bytes).0.into_owned(),
            Self::Dos(upper) => bytes
                .iter()
                .map(|byte| {
                    let high = byte.checked_sub(128).and_then(|index| upper.chars().nth(usize::from(index)));
                    high.unwrap_or(if byte.is_ascii() { char::from(*byte) } else { '\u{fffd}' })
                })
                .collect(),
        }
    }
}

/// The page of a name as .cpg files write it: "UTF-8", "1252", "CP1252", "ISO-8859-1", "ANSI 1252", "850".
pub(super) fn of_name(name: &str) -> Option<CodePage> {
    let name = name.trim().trim_start_matches('\u{feff}').to_ascii_lowercase();
    let bare =
        name.trim_start_matches("ansi").trim_start_matches("oem").trim_start_matches("cp").trim_matches([' ', '_', '-']);
    let number = bare.trim_start_matches("windows-").trim_start_matches("ibm");
    match number {
        "437" => return Some(CodePage::Dos(CP437)),
        "850" => return Some(CodePage::Dos(CP850)),
        "65001" | "utf8" => return Some(UTF_8),
        _ => {}
    }
    // Some writers join the number of the ISO page to its name: "88591".
    let iso = number.strip_prefix("8859").map(|part| format!("iso-8859-{}", part.trim_matches(['-', '_'])));
    let labels = [Some(name.clone()), iso, Some(format!("windows-{number}"))];
    labels.into_iter().flatten().find_map(|label| Encoding::for_label(label.as_bytes())).map(CodePage::Web)
}

/// Whether a page writes two bytes a letter.
pub(super) fn is_wide(page: CodePage) -> bool {
    page == CodePage::Web(encoding_rs::UTF_16LE) || page == CodePage::Web(encoding_rs::UTF_16BE)
}

/// The page of the code page byte of a .dbf (shapefile writers use these; 0 says nothing).
pub(super) fn of_dbf_byte(byte: u8) -> Option<CodePage> {
    Some(match byte {
        0x01 => CodePage::Dos(CP437),
        0x02 => CodePage::Dos(CP850),
        0x03 | 0x57..=0x59 => WESTERN,
        0x13 => CodePage::Web(encoding_rs::SHIFT_JIS),
        0x26 | 0x65 => CodePage::Web(encoding_rs::IBM866),
        0x4d | 0x7a => CodePage::Web(encoding_rs::GBK),
        0x4e | 0x79 => CodePage::Web(encoding_rs::EUC_KR),
        0x4f | 0x78 => CodePage::Web(encoding_rs::BIG5),
        0xc8 => CodePage::Web(encoding_rs::WINDOWS_1250),
        0xc9 => CodePage::Web(encoding_rs::WINDOWS_1251),
        0xca => CodePage::Web(encoding_rs::WINDOWS_1254),
        0xcb => CodePage::Web(encoding_rs::WINDOWS_1253),
        0xcc => CodePage::Web(encoding_rs::WINDOWS_1257),
        _ => return None,
    })
}

/// A text file: its byte order mark decides, otherwise UTF-8 if it is throughout, otherwise Windows-1252.
pub(super) fn text_of(bytes: &[u8]) -> Cow<'_, str> {
    if let Some(text) = four_bytes_a_letter(bytes) {
        return Cow::Owned(text);
    }
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        return encoding.decode_without_bom_handling(bytes.get(mark..).unwrap_or_default()).0;
    }
    if let Some(encoding) = without_mark(bytes) {
        return encoding.decode_without_bom_handling(bytes).0;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(WESTERN.decode(bytes)),
    }
}

/// UTF-32, by its byte order mark; rare enough that no general reader has it.
fn four_bytes_a_letter(bytes: &[u8]) -> Option<String> {
    let number: fn([u8; 4]) -> u32 = match bytes {
        [0xff, 0xfe, 0, 0, ..] => u32::from_le_bytes,
        [0, 0, 0xfe, 0xff, ..] => u32::from_be_bytes,
        _ => return None,
    };
    let letters = bytes.as_chunks::<4>().0.iter().skip(1);
    Some(letters.map(|four| char::from_u32(number(*four)).unwrap_or('\u{fffd}')).collect())
}

/// As [`text_of`]; where the bytes are letters already, none are copied.
pub(super) fn into_text(bytes: Vec<u8>) -> String {
    match text_of(&bytes) {
        Cow::Owned(text) => text,
        Cow::Borrowed(text) => {
            let mark = bytes.len() - text.len();
            let mut text = String::from_utf8(bytes).unwrap_or_default();
            text.drain(..mark.min(text.len()));
            text
        }
    }
}

/// UTF-16 without its mark: of Western texts nearly every other byte is 0.
fn without_mark(bytes: &[u8]) -> Option<&'static Encoding> {
    let start = bytes.get(..bytes.len().min(512) & !1)?;
    let zeros = |from: usize| start.iter().skip(from).step_by(2).filter(|byte| **byte == 0).count();
    let (even, odd, half) = (zeros(0), zeros(1), start.len() / 2);
    match (even, odd) {
        _ if half == 0 => None,
        (0, odd) if 10 * odd > 7 * half => Some(encoding_rs::UTF_16LE),
        (even, 0) if 10 * even > 7 * half => Some(encoding_rs::UTF_16BE),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_letters_without_a_mark() {
        let text = "sample;field\nA-1;Høj";
        let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        assert_eq!((&*text_of(&little), &*text_of(&big)), (text, text));
        assert_eq!(text_of(b"a;b\n1;2"), "a;b\n1;2");
    }

    #[test]
    fn names_and_letters() {
        for (name, bytes, letters) in [
            ("UTF-8", "Græs".as_bytes(), "Græs"),
            ("1252", b"Gr\xe6s".as_slice(), "Græs"),
            ("ANSI 1252", b"Gr\xe6s", "Græs"),
            ("ISO-8859-1", b"Gr\xe6s", "Græs"),
            ("88591", b"Gr\xe6s", "Græs"),
            ("CP850", b"Gr\x91s \x9b\xe1", "Græs øß"),
            ("437", b"Gr\x91s \xe1", "Græs ß"),
        ] {
            assert_eq!(of_name(name).unwrap().decode(bytes), letters, "{name}");
        }
        assert!(of_name("sugar").is_none());
        assert_eq!((CP437.chars().count(), CP850.chars().count()), (128, 128));
    }

    #[test]
    fn text_by_mark_or_guess() {
        assert_eq!(text_of(b"\xef\xbb\xbfa"), "a");
        assert_eq!(text_of(b"\xff\xfea\0"), "a");
        assert_eq!(text_of(b"\xff\xfe\0\0a\0\0\0\xe9\0\0\0"), "aé");
        assert_eq!(text_of(b"\0\0\xfe\xff\0\0\0a"), "a");
        assert_eq!(text_of(b"caf\xe9"), "café");
    }
}
