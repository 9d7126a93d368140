//! The pressure–enthalpy picture of a refrigerant circuit, as SVG: dome, isotherms, and the cycles put into it.
//!
//! Lines take the colour of the text around them and differ by weight and dash, so that the picture prints and reads in any
//! colours. All numbers are written with two decimals: the same inputs give the same bytes everywhere.

use std::fmt::Write;

use halfsplit_fluids::refrigerant::Refrigerant;

use crate::refrigerant::Readings;
use crate::refusal::{Refusal, contradiction};

/// A cycle to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace<'a> {
    /// What it is, for the legend: "measured", "expected".
    pub label: &'a str,
    /// Its readings.
    pub readings: Readings,
    /// Drawn in dashes rather than in full.
    pub dashed: bool,
}

/// A unit is meant to be a CSS pixel on a phone: letters of twelve are read there.
const WIDTH: f64 = 390.0;
const HEIGHT: f64 = 400.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = 10.0;
const TOP: f64 = 40.0;
const BOTTOM: f64 = 48.0;
const ZERO_CELSIUS: f64 = 273.15;
/// Steps along a curve: enough that its corners do not show at this size.
const STEPS: u32 = 48;

/// The picture's axes: enthalpy straight, pressure by its logarithm.
struct Axes {
    h: (f64, f64),
    ln_p: (f64, f64),
}

impl Axes {
    fn x(&self, h: f64) -> f64 {
        LEFT + (h - self.h.0) / (self.h.1 - self.h.0) * (WIDTH - LEFT - RIGHT)
    }

    fn y(&self, p: f64) -> f64 {
        HEIGHT - BOTTOM - (libm::log(p) - self.ln_p.0) / (self.ln_p.1 - self.ln_p.0) * (HEIGHT - TOP - BOTTOM)
    }

    fn low(&self) -> f64 {
        libm::exp(self.ln_p.0)
    }

    fn high(&self) -> f64 {
        libm::exp(self.ln_p.1)
    }

    /// Pressures from one to another, evenly spaced in the logarithm, ends included.
    fn pressures(from: f64, to: f64) -> impl Iterator<Item = f64> {
        let (start, span) = (libm::log(from), libm::log(to / from));
        (0..=STEPS).map(move |step| {
            if step == 0 {
                from
            } else if step == STEPS {
                to
            } else {
                libm::exp(start + span * f64::from(step) / f64::from(STEPS))
            }
        })
    }

    /// A line through (enthalpy, pressure) points; nothing for fewer than two.
    fn line(&self, svg: &mut String, class: &str, points: &[(f64, f64)]) {
        if points.len() < 2 {
            return;
        }
        let _ = write!(svg, "<polyline class=\"{class}\" points=\"");
        for (index, &(h, p)) in points.iter().enumerate() {
            let space = if index == 0 { "" } else { " " };
            let _ = write!(svg, "{space}{:.2},{:.2}", self.x(h), self.y(p));
        }
        svg.push_str("\"/>\n");
    }

    fn text(svg: &mut String, x: f64, y: f64, anchor: &str, text: &str) {
        let _ = writeln!(svg, "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\">{}</text>", escaped(text));
    }
}

/// Four corners of a cycle as (enthalpy, pressure): suction, discharge, liquid, after the metering device.
fn corners(refrigerant: Refrigerant, at: &Readings) -> Result<[(f64, f64); 4], Refusal> {
    let h = |(p, t): (f64, f64)| refrigerant.state_pt(p, t).map(|state| state.h);
    let liquid = h(at.liquid)?;
    Ok([
        (h(at.suction)?, at.suction.0),
        (h(at.discharge)?, at.discharge.0),
        (liquid, at.liquid.0),
        (liquid, at.suction.0),
    ])
}

/// Draws the picture: 390 × 400 units, scalable.
///
/// # Errors
/// Refuses no cycle at all, and readings outside the refrigerant's range or between bubble and dew.
pub fn pressure_enthalpy(refrigerant: Refrigerant, traces: &[Trace<'_>]) -> Result<String, Refusal> {
    if traces.is_empty() {
        return Err(contradiction("there is no cycle to draw; give measured or expected readings"));
    }
    let cycles = traces.iter().map(|trace| corners(refrigerant, &trace.readings)).collect::<Result<Vec<_>, _>>()?;
    let axes = axes(refrigerant, &cycles)?;
    let mut svg = String::new();
    let _ = writeln!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"1\" font-family=\"sans-serif\" font-size=\"12\">"
    );
    let labels: Vec<&str> = traces.iter().map(|trace| trace.label).collect();
    let title = format!("{refrigerant}: pressure against enthalpy, {}", labels.join(" and "));
    let _ = writeln!(svg, "<title>{}</title>", escaped(&title));
    svg.push_str(
        "<style>text{fill:currentColor;stroke:none}.dome{stroke-width:2}.isotherm{stroke-width:.6;stroke-opacity:.6}.grid{stroke-width:.5;stroke-opacity:.2}.small{font-size:10px}.full{stroke-width:2.5}.dashed{stroke-width:2.5;stroke-dasharray:8 5}</style>\n",
    );
    scales(&mut svg, &axes);
    isotherms(&mut svg, &axes, refrigerant);
    dome(&mut svg, &axes, refrigerant)?;
    for (row, (trace, corners)) in traces.iter().zip(&cycles).enumerate() {
        let class = if trace.dashed { "dashed" } else { "full" };
        let mut points = corners.to_vec();
        points.push(corners[0]);
        axes.line(&mut svg, class, &points);
        let y = 16.0 + 14.0 * row as f64;
        let _ = writeln!(svg, "<path class=\"{class}\" d=\"M{:.2} {:.2}h40\"/>", LEFT, y - 4.0);
        Axes::text(&mut svg, LEFT + 48.0, y, "start", trace.label);
    }
    Axes::text(&mut svg, WIDTH - RIGHT, 16.0, "end", refrigerant.name());
    svg.push_str("</svg>\n");
    Ok(svg)
}

/// Room for the cycles and the dome at their pressures, with a margin.
fn axes(refrigerant: Refrigerant, cycles: &[[(f64, f64); 4]]) -> Result<Axes, Refusal> {
    let points = || cycles.iter().flatten();
    let lowest = points().fold(f64::INFINITY, |low, point| low.min(point.1));
    let highest = points().fold(0.0_f64, |high, point| high.max(point.1));
    let critical = refrigerant.critical_point().p;
    let range = refrigerant.range();
    let low = (0.5 * lowest).max(range.p_low);
    let high = (1.3 * highest.max(critical)).min(range.p_high);
    let saturation = refrigerant.saturation(low.max(range.p_saturation_low))?;
    let left = points().fold(saturation.bubble.h, |low, point| low.min(point.0));
    let right = points().fold(saturation.dew.h, |high, point| high.max(point.0));
    let margin = 0.08 * (right - left);
    Ok(Axes { h: (left - margin, right + margin), ln_p: (libm::log(low), libm::log(high)) })
}

/// Two lines, or one where the table reaches so near to the critical point that the gap is a hair.
fn dome(svg: &mut String, axes: &Axes, refrigerant: Refrigerant) -> Result<(), Refusal> {
    let range = refrigerant.range();
    let (low, high) = (axes.low().max(range.p_saturation_low), range.p_saturation_high);
    let (mut bubble, mut dew) = (Vec::new(), Vec::new());
    for step in 0..=STEPS {
        // Closer together towards the top, where the dome bends.
        let left = 1.0 - f64::from(step) / f64::from(STEPS);
        let p = if step == STEPS { high } else { high * libm::exp(left * left * libm::log(low / high)) };
        let saturation = refrigerant.saturation(p)?;
        bubble.push((saturation.bubble.h, p));
        dew.push((saturation.dew.h, p));
    }
    if range.t_saturation_high > refrigerant.critical_point().t - 1.0 {
        bubble.extend(dew.into_iter().rev());
        axes.line(svg, "dome", &bubble);
    } else {
        axes.line(svg, "dome", &bubble);
        axes.line(svg, "dome", &dew);
    }
    Ok(())
}

/// Every 20 K. States that are not served (close to the critical point, beyond the range) are left out of a line.
fn isotherms(svg: &mut String, axes: &Axes, refrigerant: Refrigerant) {
    let inside = |points: Vec<(f64, f64)>| -> Vec<(f64, f64)> {
        points.into_iter().filter(|(h, _)| (axes.h.0..=axes.h.1).contains(h)).collect()
    };
    for step in -3..=8 {
        let celsius = 20.0 * f64::from(step);
        let t = celsius + ZERO_CELSIUS;
        let single_phase = |from: f64, to: f64| {
            let state = |p| Some((refrigerant.state_pt(p, t).ok()?.h, p));
            inside(Axes::pressures(from, to).filter_map(state).collect())
        };
        let mut label = None;
        let line = match (refrigerant.bubble_pressure(t), refrigerant.dew_pressure(t)) {
            (Ok(bubble), Ok(dew)) if bubble < axes.high() && dew > axes.low() => {
                // A hair beside the dome, on which pressure and temperature do not fix the state.
                let mut line = single_phase(bubble * (1.0 + 1e-6), axes.high());
                line.reverse();
                if let (Ok(at_bubble), Ok(at_dew)) = (refrigerant.saturation(bubble), refrigerant.saturation(dew)) {
                    label = Some((at_bubble.bubble.h, bubble, "start"));
                    line.extend(inside(vec![(at_bubble.bubble.h, bubble), (at_dew.dew.h, dew)]));
                }
                line.extend(single_phase(dew * (1.0 - 1e-6), axes.low()));
                line
            }
            (Ok(_), Ok(_)) => continue,
            _ => single_phase(axes.high(), axes.low()),
        };
        axes.line(svg, "isotherm", &line);
        // In the dome by the bubble line, else at the lower end.
        let lower_end = || line.last().map(|&(h, p)| (h, p, "end"));
        if let Some((h, p, anchor)) = label.filter(|&(_, p, _)| p > axes.low() * 1.02).or_else(lower_end) {
            let (right, down) = if anchor == "start" { (8.0, 11.0) } else { (-2.0, -3.0) };
            let (x, y) = (axes.x(h) + right, axes.y(p) + down);
            let _ = writeln!(
                svg,
                "<text class=\"small\" x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\">{celsius:.0} °C</text>"
            );
        }
    }
}

fn scales(svg: &mut String, axes: &Axes) {
    let (left, right, top, bottom) = (LEFT, WIDTH - RIGHT, TOP, HEIGHT - BOTTOM);
    let _ = writeln!(
        svg,
        "<rect x=\"{left:.2}\" y=\"{top:.2}\" width=\"{:.2}\" height=\"{:.2}\"/>",
        right - left,
        bottom - top
    );
    for decade in [1e4, 1e5, 1e6, 1e7] {
        for figure in [1.0, 2.0, 5.0] {
            let p = decade * figure;
            if p >= axes.low() && p <= axes.high() {
                let y = axes.y(p);
                let _ = writeln!(svg, "<path class=\"grid\" d=\"M{left:.2} {y:.2}H{right:.2}\"/>");
                Axes::text(svg, left - 6.0, y + 4.0, "end", &format!("{}", p / 1e3));
            }
        }
    }
    let step = 5e4;
    let mut h = (axes.h.0 / step).ceil() * step;
    while h <= axes.h.1 {
        let x = axes.x(h);
        let _ = writeln!(svg, "<path class=\"grid\" d=\"M{x:.2} {top:.2}V{bottom:.2}\"/>");
        Axes::text(svg, x, bottom + 16.0, "middle", &format!("{:.0}", h / 1e3));
        h += step;
    }
    Axes::text(svg, 0.5 * (left + right), HEIGHT - 8.0, "middle", "enthalpy, kJ/kg (200 in saturated liquid at 0 °C)");
    let _ = writeln!(
        svg,
        "<text x=\"14\" y=\"{y:.2}\" text-anchor=\"middle\" transform=\"rotate(-90 14 {y:.2})\">pressure, kPa absolute</text>",
        y = 0.5 * (top + bottom)
    );
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
