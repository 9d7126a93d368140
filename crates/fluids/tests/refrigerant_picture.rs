//! The pressure-enthalpy picture: well formed, told in words, true to the figures, and safe to put into a page.

use halfsplit_fluids::refrigerant::{CycleKind, PhCycle, PhOptions, PhPoint, Refrigerant, Theme, ph_svg};

fn cycle(r: Refrigerant, name: &str, kind: CycleKind) -> PhCycle {
    let (low, high) = (r.dew_pressure(270.0).unwrap(), r.dew_pressure(298.0).unwrap());
    let (cold, warm) = (r.saturation(low).unwrap(), r.saturation(high).unwrap());
    let compressed = r.state_ps(high, cold.dew.s).unwrap();
    let corners =
        [("1", low, cold.dew.h), ("2", high, compressed.h), ("3", high, warm.bubble.h), ("4", low, warm.bubble.h)];
    PhCycle {
        name: name.into(),
        kind,
        points: corners.into_iter().map(|(label, p, h)| PhPoint { label: label.into(), p, h }).collect(),
    }
}

/// Every opened element is closed in order; no text is left unescaped.
fn assert_well_formed(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = svg;
    while let Some(start) = rest.find('<') {
        assert!(!rest[..start].contains('>'), "a stray > in {}", &rest[..start]);
        let end = start + rest[start..].find('>').expect("a tag that ends");
        let tag = &rest[start + 1..end];
        assert!(tag.matches('"').count().is_multiple_of(2), "odd quotes in {tag}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap());
        }
        rest = &rest[end + 1..];
    }
    assert!(open.is_empty(), "left open: {open:?}");
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
}

#[test]
fn every_refrigerant_has_a_picture() {
    for r in Refrigerant::ALL {
        let cycles = [cycle(r, "as it should be", CycleKind::Expected), cycle(r, "read", CycleKind::Measured)];
        let svg = ph_svg(r, &cycles, &PhOptions::default()).unwrap();
        assert_well_formed(&svg);
        assert_eq!(svg.matches("class=\"ph-dome\"").count(), 2, "{r}");
        assert!(svg.matches("class=\"ph-isotherm\"").count() >= 8, "{r}");
        assert_eq!(svg.matches("class=\"ph-quality\"").count(), 4, "{r}");
        assert_eq!(svg.matches("<circle").count(), 2 * (4 + 1), "{r}: corners and key");
        assert!(svg.len() < 60_000, "{r}: {} bytes", svg.len());
        assert_eq!(svg, ph_svg(r, &cycles, &PhOptions::default()).unwrap());
    }
}

#[test]
fn the_picture_is_told_in_words() {
    let r = Refrigerant::R134a;
    let svg = ph_svg(r, &[cycle(r, "read", CycleKind::Measured)], &PhOptions::default()).unwrap();
    assert!(svg.contains("role=\"img\"") && svg.contains("aria-labelledby=\"ph-title ph-desc\""));
    assert!(svg.contains("<title id=\"ph-title\">R134a: pressure and enthalpy</title>"));
    let bar = r.dew_pressure(270.0).unwrap() / 1e5;
    assert!(svg.contains(&format!("read (measured): 1 at {bar:.2} bar and ")), "{svg}");
}

#[test]
fn text_from_outside_cannot_break_the_page() {
    let r = Refrigerant::R32;
    let mut evil = cycle(r, "<script>alert(1)</script>", CycleKind::Measured);
    evil.points[0].label = "\"><b>&".into();
    let options = PhOptions { title: "a < b & c".into(), id: "x\"y".into(), ..PhOptions::default() };
    let svg = ph_svg(r, &[evil], &options).unwrap();
    assert_well_formed(&svg);
    assert!(!svg.contains("<script") && !svg.contains("<b>"));
    assert!(svg.contains("R32: a &lt; b &amp; c"));
}

#[test]
fn themes_and_errors() {
    let r = Refrigerant::R290;
    let with = |theme| ph_svg(r, &[], &PhOptions { theme, ..PhOptions::default() }).unwrap();
    assert!(with(Theme::Auto).contains("prefers-color-scheme:dark"));
    assert!(!with(Theme::Light).contains("prefers-color-scheme"));
    assert_ne!(with(Theme::Light), with(Theme::Dark));
    for (p, h) in [(f64::NAN, 4e5), (1e9, 4e5), (1e6, f64::NAN)] {
        let bad = PhCycle {
            name: "bad".into(),
            kind: CycleKind::Expected,
            points: vec![PhPoint { label: String::new(), p, h }],
        };
        assert!(ph_svg(r, &[bad], &PhOptions::default()).is_err(), "{p} {h}");
    }
}
