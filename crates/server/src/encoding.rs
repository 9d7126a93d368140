//! Which packing of a file a client gets (RFC 9110, section 12.5.3).

/// How a file is packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// brotli.
    Brotli,
    /// gzip.
    Gzip,
    /// Not at all.
    Identity,
}

/// Smallest first: this is what decides where a client likes several equally well.
const PREFERRED: [Encoding; 3] = [Encoding::Brotli, Encoding::Gzip, Encoding::Identity];

impl Encoding {
    /// Its name in `Content-Encoding`; none for a file as it is.
    pub fn name(self) -> Option<&'static str> {
        match self {
            Encoding::Brotli => Some("br"),
            Encoding::Gzip => Some("gzip"),
            Encoding::Identity => None,
        }
    }

    /// The names in `Accept-Encoding`; `x-gzip` is an old name of gzip (section 8.4.1.3).
    fn names(self) -> &'static [&'static str] {
        match self {
            Encoding::Brotli => &["br"],
            Encoding::Gzip => &["gzip", "x-gzip"],
            Encoding::Identity => &["identity"],
        }
    }

    /// The best for a client by its `Accept-Encoding`. Where nothing is acceptable it is the file as it is: of the two
    /// things that section 12.4.1 allows then, this one is of more use than status 406.
    pub fn wanted(accepted: &str) -> Encoding {
        let given: Vec<(String, u16)> = accepted.split(',').filter_map(one).collect();
        let weight = |e: Encoding| {
            let named = given.iter().find(|(name, _)| e.names().contains(&name.as_str()));
            match named.or_else(|| given.iter().find(|(name, _)| name == "*")) {
                Some((_, weight)) => *weight,
                // "acceptable unless excluded", and less welcome than anything that was asked for.
                None => u16::from(e == Encoding::Identity),
            }
        };
        let mut best = (Encoding::Identity, 0);
        for e in PREFERRED {
            let weight = weight(e);
            if weight > best.1 {
                best = (e, weight);
            }
        }
        best.0
    }
}

/// A name and its weight in thousandths; none where there is no name. A weight that cannot be read counts as 0: what is
/// not understood is not used.
fn one(text: &str) -> Option<(String, u16)> {
    let mut parts = text.split(';').map(str::trim);
    let name = parts.next().filter(|n| !n.is_empty())?.to_ascii_lowercase();
    let weight = parts.find_map(|p| p.strip_prefix("q=").or_else(|| p.strip_prefix("Q=")));
    Some((name, weight.map_or(1000, thousandths)))
}

/// A weight is "0" or "1" with at most three decimals (section 12.4.2).
fn thousandths(weight: &str) -> u16 {
    let (whole, decimals) = weight.split_once('.').unwrap_or((weight, ""));
    if !matches!(whole, "0" | "1") || decimals.len() > 3 || !decimals.bytes().all(|b| b.is_ascii_digit()) {
        return 0;
    }
    format!("{whole}{decimals:0<3}").parse().map_or(0, |w: u16| w.min(1000))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9110, section 12.5.3: its five examples of the header, and its rules one by one.
    #[test]
    fn the_client_gets_what_it_likes_best() {
        use Encoding::{Brotli, Gzip, Identity};
        for (accepted, wanted) in [
            // The examples; of "compress, gzip" and "*" the server may choose.
            ("compress, gzip", Gzip),
            ("", Identity),
            ("*", Brotli),
            ("compress;q=0.5, gzip;q=1.0", Gzip),
            ("gzip;q=1.0, identity; q=0.5, *;q=0", Gzip),
            // Rule 1 and the weights: the highest that is not 0.
            ("gzip, deflate, br, zstd", Brotli),
            ("br;q=0.5, gzip;q=0.8", Gzip),
            ("br;q=0, gzip;q=0.001", Gzip),
            ("gzip, br;q=0", Gzip),
            ("BR", Brotli),
            ("x-gzip", Gzip),
            ("identity, br;q=0.9", Identity),
            // "*" stands for what is not named.
            ("br;q=0, *", Gzip),
            ("*;q=0, br", Brotli),
            // Nothing is acceptable: as it is.
            ("identity;q=0", Identity),
            ("*;q=0", Identity),
            // What cannot be read is not used.
            ("br;q=2", Identity),
            ("br;q=x, gzip", Gzip),
            ("brx", Identity),
            (", ,", Identity),
        ] {
            assert_eq!(Encoding::wanted(accepted), wanted, "{accepted}");
        }
    }
}
