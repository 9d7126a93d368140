//! What a refrigerant's designation says about fire.

/// How a refrigerant burns, by the classes of ISO 817 and ASHRAE 34.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Burns {
    /// A1: no flame propagates.
    No,
    /// A2L: slowly.
    Slowly,
    /// A3: like the fuel gas that it is.
    Readily,
}

/// Class A2L of ASHRAE 34 (from memory).
const A2L: [&str; 8] = ["R32", "R143a", "R1234yf", "R1234ze(E)", "R452B", "R454A", "R454B", "R454C"];

/// How the refrigerant of this designation burns. One that is not known counts as burning: nobody is hurt by too
/// much care. None at all is taken as not burning.
pub fn burns(designation: Option<&str>) -> Burns {
    const A1: [&str; 12] =
        ["R11", "R12", "R22", "R134a", "R404A", "R407A", "R407C", "R410A", "R448A", "R449A", "R513A", "R744"];
    let Some(name) = designation else { return Burns::No };
    let plain: String = name.chars().filter(|c| !matches!(c, '-' | ' ')).collect();
    let among = |list: &[&str]| list.iter().any(|x| x.eq_ignore_ascii_case(&plain));
    if among(&A1) {
        Burns::No
    } else if among(&A2L) {
        Burns::Slowly
    } else {
        // Hydrocarbons (class A3), and whatever is not known.
        Burns::Readily
    }
}

/// What has to be said where a circuit with such a refrigerant is opened. Trade practice, no source.
pub const OPENING_IT: &str = "Flammable refrigerant: no ignition source, ventilate, detector on; recovery unit and pump made for it; purge with \
     nitrogen, cut joints rather than unbraze them.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_by_designation() {
        assert_eq!(burns(Some("R134a")), Burns::No);
        assert_eq!(burns(Some("R-410A")), Burns::No);
        assert_eq!(burns(Some("R32")), Burns::Slowly);
        assert_eq!(burns(Some("R290")), Burns::Readily);
        assert_eq!(burns(Some("R600a")), Burns::Readily);
        assert_eq!(burns(Some("something new")), Burns::Readily);
        assert_eq!(burns(None), Burns::No);
    }
}
