//! A number as people write it: decimal point or comma, digits in groups of three, a real minus.

/// A number read off the front of a text.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Number {
    /// The value; finite.
    pub value: f64,
    /// One in the last digit written: 0.1 for "2.1", 1 for "240".
    pub step: f64,
    /// How many characters it took.
    pub len: usize,
}

/// Why no number could be read, with the characters that it concerns, counted from the start.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum NumberProblem {
    /// No digit where a number must begin.
    Missing,
    /// "1,234": a thousand in one country, one and a bit in another.
    TwoMeanings { len: usize, thousands: String, decimal: String },
    /// Separators that fit no way of writing numbers: "1,23,4.5.6".
    Muddled { len: usize },
    /// Beyond what a number here can hold.
    TooLarge { len: usize },
}

const fn is_minus(c: char) -> bool {
    matches!(c, '-' | '−' | '–')
}

/// A space or tick that may stand between groups of three digits (source: SI Brochure, 9th
/// edition, 5.4.4, for the thin space; the tick is common practice).
const fn is_group_space(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '’')
}

/// Reads a number from the front of `chars`.
pub(crate) fn read(chars: &[char]) -> Result<Number, NumberProblem> {
    let mut at = 0;
    let mut negative = false;
    if let Some(&c) = chars.first()
        && (is_minus(c) || c == '+')
    {
        negative = is_minus(c);
        at = 1;
    }
    let mut digits_and_marks = String::new();
    let mut seen_digit = false;
    let mut grouped = false;
    while let Some(&c) = chars.get(at) {
        if c.is_ascii_digit() {
            digits_and_marks.push(c);
            seen_digit = true;
        } else if (c == '.' || c == ',') && chars.get(at + 1) != Some(&'.') {
            // A comma that no digit follows ends the clause, not the number; a point may: "5. uF".
            let digit_follows = chars.get(at + 1).is_some_and(char::is_ascii_digit);
            if !digit_follows && (c == ',' || !seen_digit) {
                break;
            }
            digits_and_marks.push(c);
        } else if is_group_space(c) && seen_digit && three_digits_follow(&chars[at + 1..]) {
            // Dropped: it only sets groups apart. The first group has at most three digits, and
            // none comes after a decimal mark.
            let first_group_too_long = !grouped && digits_and_marks.len() > 3;
            if first_group_too_long || digits_and_marks.contains(['.', ',']) {
                break;
            }
            grouped = true;
        } else {
            break;
        }
        at += 1;
    }
    if !seen_digit {
        return Err(NumberProblem::Missing);
    }
    let (mut plain, mut decimals) = resolve_marks(&digits_and_marks, at)?;
    let mut exponent = 0_i32;
    if let Some((written, len)) = read_exponent(&chars[at..]) {
        at += len;
        exponent = written.parse().unwrap_or(i32::MAX);
        plain.push('e');
        plain.push_str(&written);
    }
    decimals = decimals.saturating_sub(i64::from(exponent));
    let value: f64 = plain.parse().unwrap_or(f64::INFINITY);
    if !value.is_finite() {
        return Err(NumberProblem::TooLarge { len: at });
    }
    let step: f64 = format!("1e{}", -decimals).parse().unwrap_or(0.0);
    let value = if negative && value != 0.0 { -value } else { value };
    Ok(Number { value, step: if step.is_finite() { step } else { 0.0 }, len: at })
}

/// Exactly three digits, then no further one.
fn three_digits_follow(chars: &[char]) -> bool {
    chars.len() >= 3 && chars[..3].iter().all(char::is_ascii_digit) && !chars.get(3).is_some_and(char::is_ascii_digit)
}

/// Turns digits with points and commas into digits with at most one point, and counts decimals.
fn resolve_marks(written: &str, len: usize) -> Result<(String, i64), NumberProblem> {
    let points = written.matches('.').count();
    let commas = written.matches(',').count();
    let muddled = Err(NumberProblem::Muddled { len });
    let decimal = match (points, commas) {
        (0, 0) => None,
        (1, 0) => Some('.'),
        (0, 1) => {
            let (whole, fraction) = written.split_once(',').unwrap_or((written, ""));
            let grouped = fraction.len() == 3 && (1..=3).contains(&whole.len());
            if grouped && !whole.starts_with('0') {
                return Err(NumberProblem::TwoMeanings {
                    len,
                    thousands: format!("{whole}{fraction}"),
                    decimal: format!("{whole}.{fraction}"),
                });
            }
            Some(',')
        }
        (_, 0) | (0, _) => None,
        (1, _) if written.rfind('.') > written.rfind(',') => Some('.'),
        (_, 1) if written.rfind(',') > written.rfind('.') => Some(','),
        _ => return muddled,
    };
    let (whole, fraction) = match decimal {
        Some(mark) => written.split_once(mark).unwrap_or((written, "")),
        None => (written, ""),
    };
    let mut groups = whole.split(['.', ',']);
    let first = groups.next().unwrap_or("");
    let rest: Vec<&str> = groups.collect();
    let well_grouped = rest.is_empty() || (1..=3).contains(&first.len()) && rest.iter().all(|group| group.len() == 3);
    if !well_grouped || fraction.contains(['.', ',']) {
        return muddled;
    }
    let mut plain = format!("{first}{}", rest.concat());
    if plain.is_empty() {
        plain.push('0');
    }
    if !fraction.is_empty() {
        plain.push('.');
        plain.push_str(fraction);
    }
    Ok((plain, i64::try_from(fraction.len()).unwrap_or(i64::MAX)))
}

/// An exponent as calculators write it, "e-6": its digits with the sign, and its length.
fn read_exponent(chars: &[char]) -> Option<(String, usize)> {
    if !matches!(chars.first(), Some('e' | 'E')) {
        return None;
    }
    let mut written = String::new();
    let mut at = 1;
    if let Some(&c) = chars.get(at)
        && (is_minus(c) || c == '+')
    {
        if is_minus(c) {
            written.push('-');
        }
        at += 1;
    }
    let digits = chars[at..].iter().take_while(|c| c.is_ascii_digit()).count();
    if digits == 0 {
        return None;
    }
    written.extend(&chars[at..at + digits]);
    Some((written, at + digits))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Result<Number, NumberProblem> {
        read(&text.chars().collect::<Vec<_>>())
    }

    fn value(text: &str) -> f64 {
        number(text).unwrap_or_else(|problem| panic!("{text}: {problem:?}")).value
    }

    #[test]
    fn both_decimal_marks_and_every_grouping() {
        // Source: SI Brochure, 9th edition, 5.4.4: point or comma, groups of three by a thin space.
        for (text, expected) in [
            ("2.1", 2.1),
            ("12,5", 12.5),
            ("0,125", 0.125),
            (".5", 0.5),
            ("5.", 5.0),
            ("1 234", 1234.0),
            ("12 345 678", 12_345_678.0),
            ("1\u{202f}234,5", 1234.5),
            ("1'234.5", 1234.5),
            ("1,234.5", 1234.5),
            ("1.234,5", 1234.5),
            ("1,234,567", 1_234_567.0),
            ("1.234.567,8", 1_234_567.8),
            ("-6.1", -6.1),
            ("−6.1", -6.1),
            ("+3", 3.0),
            ("-0", 0.0),
            ("2.1e-6", 2.1e-6),
            ("1E3", 1000.0),
            ("12345,678", 12_345.678),
        ] {
            assert_eq!(value(text), expected, "{text}");
        }
        assert!(value("-0").is_sign_positive());
    }

    #[test]
    fn only_the_number_is_taken() {
        for (text, len) in
            [("118..122", 3), ("118-122", 3), ("4.7k", 3), ("2 h", 1), ("5 e", 1), ("12, then", 2), ("10 12", 2)]
        {
            assert_eq!(number(text).map(|n| n.len), Ok(len), "{text}");
        }
    }

    #[test]
    fn the_last_digit_gives_the_step() {
        for (text, step) in [("2.1", 0.1), ("240", 1.0), ("2.10", 0.01), ("2.1e-6", 1e-7), ("5.", 1.0)] {
            assert_eq!(number(text).map(|n| n.step), Ok(step), "{text}");
        }
    }

    #[test]
    fn doubt_is_reported_not_guessed() {
        assert_eq!(
            number("1,234"),
            Err(NumberProblem::TwoMeanings { len: 5, thousands: "1234".into(), decimal: "1.234".into() })
        );
        assert_eq!(number("1.2.3"), Err(NumberProblem::Muddled { len: 5 }));
        assert_eq!(number("1,23,4.5"), Err(NumberProblem::Muddled { len: 8 }));
        assert_eq!(number("1e999"), Err(NumberProblem::TooLarge { len: 5 }));
        assert_eq!(number("1e99999999999999"), Err(NumberProblem::TooLarge { len: 16 }));
        assert_eq!(number("uF"), Err(NumberProblem::Missing));
        assert_eq!(number("-"), Err(NumberProblem::Missing));
    }
}
