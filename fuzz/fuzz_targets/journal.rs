//! The bytes of a journal. With an odd first byte, every line gets a right checksum first, so that
//! the fuzzer reaches what lies behind it.
#![no_main]

use halfsplit_journal::{decode, decode_bytes, effective, encode, merge};
use libfuzzer_sys::fuzz_target;

const CHECKSUM: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);

fuzz_target!(|data: &[u8]| {
    let Some((&first, rest)) = data.split_first() else { return };
    let bytes = if first % 2 == 1 { sealed(rest) } else { rest.to_vec() };
    let decoded = decode_bytes(&bytes);

    for damage in &decoded.damage {
        assert!(damage.byte + damage.len <= bytes.len());
        assert!(!damage.to_string().is_empty());
    }
    assert!(effective(&decoded.events).len() <= decoded.events.len());
    for event in &decoded.events {
        let line = encode(event).expect("what was read can be written");
        assert_eq!(decode(&line).events, core::slice::from_ref(event));
    }
    if let Some(journal) = decoded.into_journal() {
        let again = decode(&journal.encode().expect("what was read can be written"));
        assert_eq!(again.into_journal().as_ref(), Some(&journal));
        let merged = merge(&journal, &journal).expect("one job");
        assert_eq!(merged.journal, journal);
        assert!(merged.conflicts.is_empty());
    }
});

/// Each line with the checksum that belongs to it, in place of the one it has.
fn sealed(bytes: &[u8]) -> Vec<u8> {
    const TAIL: &[u8] = b",\"crc\":\"";
    let mut out = Vec::new();
    for line in bytes.split(|b| *b == b'\n') {
        let end = line.windows(TAIL.len()).rposition(|w| w == TAIL);
        let body = &line[..end.unwrap_or(line.len())];
        out.extend_from_slice(body);
        out.extend_from_slice(format!(",\"crc\":\"{:08x}\"}}\n", CHECKSUM.checksum(body)).as_bytes());
    }
    out
}
