//! Journals that were cut off, changed or joined: every whole line is found, everything else said.

mod common;

use common::job;
use halfsplit_journal::{DamageKind, Event, decode, decode_bytes, encode};
use proptest::prelude::*;

#[test]
fn cut_off_at_any_byte_every_whole_line_is_there() {
    let journal = job();
    let text = journal.encode().expect("text");
    let bytes = text.as_bytes();
    for cut in 0..=bytes.len() {
        let front = &bytes[..cut];
        let decoded = decode_bytes(front);
        // A line is whole with or without its line end.
        let whole = text
            .lines()
            .scan(0, |end, line| {
                let line_end = *end + line.len();
                *end = line_end + 1;
                Some(line_end)
            })
            .filter(|end| *end <= cut)
            .count();
        assert_eq!(decoded.events, journal.events[..whole.saturating_sub(1)], "cut at {cut}");
        assert_eq!(decoded.header.is_some(), whole > 0);
        let ends_inside = cut > 0 && bytes[cut - 1] != b'\n';
        assert_eq!(decoded.ends_inside_line, ends_inside);
        let last_line_start = front.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
        let torn = ends_inside && !text.lines().any(|line| line.as_bytes() == &front[last_line_start..]);
        let cut_offs: Vec<_> = decoded.damage.iter().filter(|d| d.kind == DamageKind::CutOff).collect();
        assert_eq!(cut_offs.len(), usize::from(torn), "cut at {cut}: {:?}", decoded.damage);
        if let [damage] = cut_offs[..] {
            assert_eq!((damage.byte, damage.len), (last_line_start, cut - last_line_start));
            assert_eq!(damage.line, front.iter().filter(|b| **b == b'\n').count() + 1);
        }
    }
}

#[test]
fn going_on_after_a_cut_loses_nothing() {
    let journal = job();
    let text = journal.encode().expect("text");
    let fifth = text.match_indices('\n').nth(4).expect("five lines").0;
    // A fresh event, written behind a line that was cut off after 40 of its bytes.
    let cut = &text[..=fifth + 40];
    let decoded = decode(cut);
    assert_eq!(decoded.events.len(), 4);
    assert_eq!(decoded.before_append(), "\n");
    let seq = decoded.events.last().expect("an event").seq + 1;
    let mut event: Event = journal.events[9].clone();
    event.seq = seq;
    let line = encode(&event).expect("a line");

    for glue in [decoded.before_append(), ""] {
        // With the line end, as it should be done; and glued on, by a client that did not look.
        let again = decode(&format!("{cut}{glue}{line}\n"));
        assert_eq!(again.events.len(), 5, "{glue:?}");
        assert_eq!(again.events[4], event);
        assert_eq!(again.damage.len(), 1, "{:?}", again.damage);
        assert_eq!(again.damage[0].kind, DamageKind::CutOff);
        assert_eq!((again.damage[0].byte, again.damage[0].len), (fifth + 1, 40));
    }
}

#[test]
fn a_lost_line_end_parts_again() {
    let journal = job();
    let text = journal.encode().expect("text");
    let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at).collect();
    for &at in &ends[..ends.len() - 1] {
        let mut bytes = text.clone().into_bytes();
        bytes[at] = b'?';
        let decoded = decode_bytes(&bytes);
        assert_eq!(decoded.events, journal.events);
        assert!(decoded.header.is_some());
        assert_eq!(decoded.damage.len(), 1, "{:?}", decoded.damage);
        assert_eq!((decoded.damage[0].byte, decoded.damage[0].len), (at, 1));
    }
}

#[test]
fn a_changed_line_is_named_and_the_others_are_used() {
    let journal = job();
    let text = journal.encode().expect("text");
    let changed = text.replacen("2.1 uF", "9.1 uF", 2).replacen("12.1 uF", "19.1 uF", 1);
    assert_ne!(changed, text);
    let decoded = decode(&changed);
    let lost: Vec<u64> = (1..=15).filter(|seq| !decoded.events.iter().any(|e| e.seq == *seq)).collect();
    assert!(!lost.is_empty());
    for seq in lost {
        let line = usize::try_from(seq).expect("small") + 1;
        let here = decoded.damage.iter().find(|d| d.line == line && d.kind == DamageKind::Changed);
        let here = here.unwrap_or_else(|| panic!("line {line}: {:?}", decoded.damage));
        assert!(here.is_loss());
        assert!(here.to_string().starts_with(&format!("Line {line}, byte ")), "{here}");
    }
}

#[test]
fn a_line_taken_out_is_missed() {
    let journal = job();
    let text = journal.encode().expect("text");
    let without: String =
        text.split_inclusive('\n').enumerate().filter(|(n, _)| *n != 6 && *n != 7).map(|(_, l)| l).collect();
    let decoded = decode(&without);
    assert_eq!(decoded.events.len(), 13);
    assert_eq!(decoded.damage.len(), 1);
    assert_eq!(decoded.damage[0].kind, DamageKind::Missing { first: 6, last: 7 });
    let message = decoded.damage[0].to_string();
    assert!(message.contains("event numbers 6 to 7 are missing"), "{message}");
}

#[test]
fn joined_and_foreign_texts_are_told_apart() {
    let journal = job();
    let text = journal.encode().expect("text");
    // The same journal twice says nothing new.
    let twice = decode(&format!("{text}{text}"));
    assert_eq!(twice.damage, []);
    assert_eq!(twice.events, journal.events);
    // Another job's header in the middle.
    let other = text.replace("job-17", "job-18");
    let other_header = halfsplit_journal::encode_header(&halfsplit_journal::Header::new("job-18"));
    let joined = decode(&format!("{text}{other_header}\n"));
    assert!(
        matches!(&joined.damage[..], [d] if matches!(&d.kind, DamageKind::ForeignHeader { job } if job == "job-18"))
    );
    // A header that was changed by hand does not fit its checksum.
    assert_eq!(decode(&other).header, None);
    // The same name with other words.
    let mut event = journal.events[8].clone();
    event.actor = "Bob".into();
    let line = encode(&event).expect("a line");
    let same = decode(&format!("{text}{line}\n"));
    assert_eq!(same.events, journal.events);
    assert!(matches!(&same.damage[..], [d] if d.kind == DamageKind::SameId { event: event.id.clone() }));
    // Something else altogether.
    for nonsense in ["", "\n\n", "hello", "{}", "{\"seq\":1}", "[]\n{\"seq\":"] {
        let decoded = decode(nonsense);
        assert!(decoded.events.is_empty() && decoded.header.is_none());
        assert_eq!(decoded.damage[0].kind, DamageKind::NoHeader, "{nonsense:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn one_flipped_bit_costs_one_line_at_most(position in 0.0..1.0_f64, bit in 0..8_u8) {
        let journal = job();
        let mut bytes = journal.encode().expect("text").into_bytes();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the text")]
        let at = (position * bytes.len() as f64) as usize;
        bytes[at] ^= 1 << bit;
        let decoded = decode_bytes(&bytes);
        prop_assert!(!decoded.damage.is_empty() || decoded.ends_inside_line
            || decoded.events == journal.events);
        prop_assert!(decoded.events.len() + 1 >= journal.events.len());
        for event in &decoded.events {
            prop_assert!(journal.events.contains(event), "an event that nobody wrote");
        }
        if decoded.events.len() < journal.events.len() {
            prop_assert!(decoded.damage.iter().any(halfsplit_journal::Damage::is_loss));
        }
    }

    #[test]
    fn any_bytes_are_borne(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let decoded = decode_bytes(&bytes);
        prop_assert!(decoded.events.is_empty());
        prop_assert!(decoded.damage.iter().all(|d| d.byte + d.len <= bytes.len()));
    }

    #[test]
    fn lines_in_any_order_are_one_journal(order in Just((1..16).collect::<Vec<usize>>()).prop_shuffle()) {
        let journal = job();
        let text = journal.encode().expect("text");
        let lines: Vec<&str> = text.lines().collect();
        let mut shuffled = format!("{}\n", lines[0]);
        for index in order {
            shuffled.push_str(lines[index]);
            shuffled.push('\n');
        }
        let decoded = decode(&shuffled);
        prop_assert_eq!(decoded.damage, vec![]);
        prop_assert_eq!(decoded.events, journal.events);
    }
}
