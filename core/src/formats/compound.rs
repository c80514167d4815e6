//! Streams of a compound file ([MS-CFB], the file within a file of workbooks before 2007). Only what a workbook needs: a stream by its
//! name. Every chain of sectors is followed at most as often as there are sectors, so that a circle ends.

/// From here on sector numbers mean something else: end of a chain, free, and so on.
const LAST: u32 = 0xffff_fffa;
/// Streams shorter than this lie in small sectors within the first stream.
const SMALL: usize = 4096;
/// Length of a small sector.
const SMALL_SECTOR: usize = 64;
/// Length of an entry of the directory.
const ENTRY: usize = 128;

/// A compound file in memory.
pub(super) struct Compound<'a> {
    bytes: &'a [u8],
    sector: usize,
    table: Vec<u32>,
    small_table: Vec<u32>,
    small: Vec<u8>,
    directory: Vec<u8>,
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    bytes.get(at..at + 2)?.try_into().ok().map(u16::from_le_bytes)
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at.checked_add(4)?)?.try_into().ok().map(u32::from_le_bytes)
}

fn numbers(bytes: &[u8]) -> impl Iterator<Item = u32> + '_ {
    bytes.chunks_exact(4).filter_map(|part| u32_at(part, 0))
}

impl<'a> Compound<'a> {
    /// Reads header, tables and directory; none if they do not hold together.
    pub fn of(bytes: &'a [u8]) -> Option<Self> {
        let sector = 1_usize.checked_shl(u32::from(u16_at(bytes, 30)?)).filter(|size| matches!(size, 512 | 4096))?;
        let mut whole =
            Self { bytes, sector, table: Vec::new(), small_table: Vec::new(), small: Vec::new(), directory: Vec::new() };
        // Sectors of the table of sectors: 109 in the header, more in sectors of their own, each of which ends with the next.
        let mut of_table: Vec<u32> = numbers(bytes.get(76..512)?).collect();
        let mut more = u32_at(bytes, 68)?;
        let sectors = bytes.len() / sector;
        for _ in 0..sectors {
            let Some(part) = (more < LAST).then(|| whole.sector(more)).flatten() else { break };
            let (own, next) = part.split_at(sector - 4);
            of_table.extend(numbers(own));
            more = u32_at(next, 0)?;
        }
        for number in of_table.into_iter().filter(|number| *number < LAST).take(sectors) {
            let part = whole.sector(number)?;
            whole.table.extend(numbers(part));
        }
        whole.directory = whole.chain(u32_at(bytes, 48)?, usize::MAX);
        whole.small_table = numbers(&whole.chain(u32_at(bytes, 60)?, usize::MAX)).collect();
        let (start, length) = (u32_at(&whole.directory, 116)?, u32_at(&whole.directory, 120)?);
        whole.small = whole.chain(start, length as usize);
        Some(whole)
    }

    fn sector(&self, number: u32) -> Option<&'a [u8]> {
        let start = (number as usize).checked_add(1)?.checked_mul(self.sector)?;
        self.bytes.get(start..start.checked_add(self.sector)?)
    }

    /// The bytes of a chain of sectors, as far as it can be followed.
    fn chain(&self, start: u32, length: usize) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut number = start;
        for _ in 0..=self.table.len() {
            let Some(part) = (number < LAST && bytes.len() < length).then(|| self.sector(number)).flatten() else { break };
            bytes.extend_from_slice(part);
            number = self.table.get(number as usize).copied().unwrap_or(LAST);
        }
        bytes.truncate(length);
        bytes
    }

    fn small_chain(&self, start: u32, length: usize) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut number = start;
        for _ in 0..=self.small_table.len() {
            let at = number as usize * SMALL_SECTOR;
            let part = self.small.get(at..at + SMALL_SECTOR).or_else(|| self.small.get(at..));
            let Some(part) = part.filter(|_| number < LAST && bytes.len() < length) else { break };
            bytes.extend_from_slice(part);
            number = self.small_table.get(number as usize).copied().unwrap_or(LAST);
        }
        bytes.truncate(length);
        bytes
    }

    /// The stream of a name, letter case ignored.
    pub fn stream(&self, name: &str) -> Option<Vec<u8>> {
        let entry = self.directory.chunks_exact(ENTRY).find(|entry| {
            let length = usize::from(u16_at(entry, 64).unwrap_or(0)).saturating_sub(2).min(64);
            let letters: Vec<u16> = entry[..length].chunks_exact(2).filter_map(|pair| u16_at(pair, 0)).collect();
            String::from_utf16_lossy(&letters).eq_ignore_ascii_case(name)
        })?;
        let (start, length) = (u32_at(entry, 116)?, u32_at(entry, 120)? as usize);
        Some(if length < SMALL { self.small_chain(start, length) } else { self.chain(start, length) })
    }
}
