//! A digest that names a version: FNV-1a, 64 bits (Fowler, Noll, Vo; constants as published in RFC 9923). It tells
//! versions apart and proves nothing.

/// Takes in bytes.
pub fn fold(digest: u64, bytes: &[u8]) -> u64 {
    bytes.iter().fold(digest, |d, b| (d ^ u64::from(*b)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// Of nothing.
pub const EMPTY: u64 = 0xcbf2_9ce4_8422_2325;
