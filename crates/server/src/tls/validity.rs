//! From when until when a certificate holds.

use time::{Date, Month, OffsetDateTime, PrimitiveDateTime, Time};

/// Reads `Validity` of a certificate in DER (RFC 5280, sections 4.1 and 4.1.2.5; tags as in X.690). None where the bytes
/// are no certificate.
pub fn validity(certificate: &[u8]) -> Option<(OffsetDateTime, OffsetDateTime)> {
    const SEQUENCE: u8 = 0x30;
    const VERSION: u8 = 0xa0;
    let mut inside = inner(&mut &*certificate, SEQUENCE)?;
    let mut fields = inner(&mut inside, SEQUENCE)?;
    if fields.first() == Some(&VERSION) {
        element(&mut fields)?;
    }
    // serialNumber, signature, issuer.
    for _ in 0..3 {
        element(&mut fields)?;
    }
    let mut times = inner(&mut fields, SEQUENCE)?;
    Some((moment(element(&mut times)?)?, moment(element(&mut times)?)?))
}

/// The next element: its tag and its content.
fn element<'a>(rest: &mut &'a [u8]) -> Option<(u8, &'a [u8])> {
    let (&[tag, first], mut after) = rest.split_first_chunk::<2>()?;
    let mut length = usize::from(first);
    if first & 0x80 != 0 {
        let bytes = usize::from(first & 0x7f);
        let digits = after.get(..bytes).filter(|d| (1..=3).contains(&d.len()))?;
        length = digits.iter().fold(0, |n, d| n << 8 | usize::from(*d));
        after = &after[bytes..];
    }
    let content = after.get(..length)?;
    *rest = &after[length..];
    Some((tag, content))
}

fn inner<'a>(rest: &mut &'a [u8], wanted: u8) -> Option<&'a [u8]> {
    element(rest).filter(|(tag, _)| *tag == wanted).map(|(_, content)| content)
}

/// UTCTime, whose two digits stand for 1950 to 2049, or GeneralizedTime; both in UTC and with seconds.
fn moment((tag, content): (u8, &[u8])) -> Option<OffsetDateTime> {
    let digits = std::str::from_utf8(content).ok()?.strip_suffix('Z')?;
    let number = |from: usize, to: usize| digits.get(from..to)?.parse::<u8>().ok();
    let (year, at) = match tag {
        0x17 => {
            let short = i32::from(number(0, 2)?);
            (if short < 50 { 2000 + short } else { 1900 + short }, 2)
        }
        0x18 => (digits.get(..4)?.parse().ok()?, 4),
        _ => return None,
    };
    let date = Date::from_calendar_date(year, Month::try_from(number(at, at + 2)?).ok()?, number(at + 2, at + 4)?);
    let time = Time::from_hms(number(at + 4, at + 6)?, number(at + 6, at + 8)?, number(at + 8, at + 10)?);
    Some(PrimitiveDateTime::new(date.ok()?, time.ok()?).assume_utc())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 5280, section 4.1.2.5: dates through 2049 are UTCTime, later ones GeneralizedTime.
    #[test]
    fn both_ways_to_write_a_time() {
        for (from, until) in [(1955, 1999), (2000, 2049), (2026, 2050), (2050, 2100)] {
            let (a, b) = validity(&certificate(from, until)).expect("a certificate");
            assert_eq!((a.year(), b.year()), (from, until));
            assert_eq!((a.month(), a.day(), a.hour()), (Month::March, 4, 0));
        }
    }

    #[test]
    fn anything_else_is_no_certificate() {
        let whole = certificate(2026, 2027);
        for cut in 0..whole.len().min(200) {
            assert_eq!(validity(&whole[..cut]), None, "{cut} bytes");
        }
        assert_eq!(validity(b"\x30\x84\xff\xff\xff\xff"), None);
    }

    fn certificate(from: i32, until: i32) -> Vec<u8> {
        let mut params = rcgen::CertificateParams::new(vec!["localhost".to_owned()]).expect("a name");
        params.not_before = rcgen::date_time_ymd(from, 3, 4);
        params.not_after = rcgen::date_time_ymd(until, 3, 4);
        let key = rcgen::KeyPair::generate().expect("a key");
        params.self_signed(&key).expect("signed").der().to_vec()
    }
}
