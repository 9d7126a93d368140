//! Digests of bits: FNV-1a, 64 bits (Fowler, Noll, Vo; constants as published in RFC 9923).

use std::fmt::Write as _;

/// Returned when the script itself could not be run.
pub const COULD_NOT_RUN: u8 = 255;
/// Returned when there are more or fewer sections than expected.
pub const OTHER_SECTIONS: u8 = 254;

/// A digest that takes in values one after the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Digest(u64);

impl Digest {
    /// Of nothing.
    pub const fn new() -> Digest {
        Digest(0xcbf2_9ce4_8422_2325)
    }

    /// Takes in bytes.
    pub fn bytes(&mut self, bytes: &[u8]) {
        for b in bytes {
            self.0 = (self.0 ^ u64::from(*b)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }

    /// Takes in every bit of a float.
    pub fn float(&mut self, x: f64) {
        self.bytes(&x.to_bits().to_le_bytes());
    }

    /// Takes in what `Debug` writes: structure, words, and floats with as many figures as tell them apart.
    pub fn debug(&mut self, x: &dyn std::fmt::Debug) {
        // Writing to a digest cannot fail.
        let _ = write!(self, "{x:?}");
    }

    /// The digest so far.
    pub const fn value(self) -> u64 {
        self.0
    }
}

impl std::fmt::Write for Digest {
    fn write_str(&mut self, s: &str) -> std::fmt::Result {
        self.bytes(s.as_bytes());
        Ok(())
    }
}

/// A named part of what is compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// What it covers.
    pub name: String,
    /// Its digest.
    pub digest: u64,
}

/// Fills a section.
pub fn section(name: &str, fill: impl FnOnce(&mut Digest)) -> Section {
    let mut d = Digest::new();
    fill(&mut d);
    Section { name: name.to_owned(), digest: d.value() }
}

/// One line per section: digest, name.
pub fn lines(sections: &[Section]) -> String {
    sections.iter().fold(String::new(), |mut out, s| {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{:016x} {}", s.digest, s.name);
        out
    })
}

/// Number, from 1, of the first section that is not as expected; 0 if all are.
pub fn first_difference(sections: &[Section], expected: &str) -> u8 {
    let (got, want) = (lines(sections), expected);
    if got.lines().count() != want.lines().count() || got.lines().count() >= usize::from(OTHER_SECTIONS) {
        return OTHER_SECTIONS;
    }
    let different = got.lines().zip(want.lines()).position(|(a, b)| a != b);
    different.map_or(0, |i| u8::try_from(i + 1).unwrap_or(OTHER_SECTIONS))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test values of RFC 9923: "" , "a" and "foobar" in 64-bit FNV-1a (from memory).
    #[test]
    fn fnv() {
        let of = |s: &str| {
            let mut d = Digest::new();
            d.bytes(s.as_bytes());
            d.value()
        };
        assert_eq!(of(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(of("a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(of("foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn one_bit_is_seen_and_its_section_told() {
        let of = |name: &str, x: f64| section(name, |d| d.float(x));
        let sound = [of("a", 1.0), of("b", 2.0)];
        let expected = lines(&sound);
        assert_eq!(first_difference(&sound, &expected), 0);
        let odd = [of("a", 1.0), of("b", f64::from_bits(2f64.to_bits() + 1))];
        assert_eq!(first_difference(&odd, &expected), 2);
        assert_eq!(first_difference(&odd[..1], &expected), OTHER_SECTIONS);
    }
}
