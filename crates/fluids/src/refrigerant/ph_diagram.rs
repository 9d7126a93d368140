//! The pressure-enthalpy picture, as SVG text: dome, isotherms, lines of quality, and cycles drawn over them.
//!
//! Measured and expected cycles differ by line and marker as well as by colour. The colours follow the reader's light or dark setting, unless
//! [`PhOptions::theme`] fixes one; a page may override the classes, which all begin with `ph-`.

use std::fmt::Write;

use super::equation::Isotherm;
use super::{Phase, Quantity, Refrigerant, RefrigerantError, State};

/// How a cycle is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CycleKind {
    /// Dashed with open markers.
    Expected,
    /// Solid with filled markers.
    Measured,
}

/// A corner of a cycle.
#[derive(Clone, Debug, PartialEq)]
pub struct PhPoint {
    /// Short label beside the marker, such as a number; may be empty.
    pub label: String,
    /// Pa absolute
    pub p: f64,
    /// J/kg, counted as in this module
    pub h: f64,
}

/// A closed cycle through its points in order.
#[derive(Clone, Debug, PartialEq)]
pub struct PhCycle {
    /// Shown in the key.
    pub name: String,
    /// Measured or expected.
    pub kind: CycleKind,
    /// Corners in the order of flow; the last is joined to the first.
    pub points: Vec<PhPoint>,
}

/// Which colours to use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Theme {
    /// As the reader's device prefers.
    Auto,
    /// Dark on white, for paper.
    Light,
    /// Light on dark.
    Dark,
}

/// Words, size and colours of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct PhOptions {
    /// Title; the refrigerant's name is put before it.
    pub title: String,
    /// Text under the horizontal axis.
    pub enthalpy_axis: String,
    /// Text beside the vertical axis.
    pub pressure_axis: String,
    /// Note on the isotherms and lines of quality, in the key.
    pub lines_note: String,
    /// Width and height in user units (pixels at the natural size); at least 320 by 240.
    pub size: (u32, u32),
    /// Colours.
    pub theme: Theme,
    /// Start of the ids inside the picture, unique on the page.
    pub id: String,
}

impl Default for PhOptions {
    fn default() -> Self {
        PhOptions {
            title: "pressure and enthalpy".into(),
            enthalpy_axis: "enthalpy, kJ/kg".into(),
            pressure_axis: "absolute pressure, bar".into(),
            lines_note: "thin lines: temperature in \u{b0}C; dotted: share of vapour".into(),
            size: (860, 560),
            theme: Theme::Auto,
            id: "ph".into(),
        }
    }
}

/// The picture of `refrigerant` with `cycles` over it.
///
/// Fails with the range error of the first cycle point whose pressure is outside [`Refrigerant::range`] or whose values are not numbers.
pub fn ph_svg(refrigerant: Refrigerant, cycles: &[PhCycle], options: &PhOptions) -> Result<String, RefrigerantError> {
    for point in cycles.iter().flat_map(|cycle| &cycle.points) {
        refrigerant.check_pressure(point.p)?;
        if !point.h.is_finite() {
            return Err(RefrigerantError::OutOfRange {
                refrigerant,
                quantity: Quantity::Enthalpy,
                value: point.h,
                low: f64::MIN,
                high: f64::MAX,
            });
        }
    }
    let frame = Frame::around(refrigerant, cycles, options.size);
    let mut picture = Picture { frame, svg: String::with_capacity(48 * 1024) };
    picture.head(refrigerant, cycles, options);
    picture.axes(options);
    picture.svg.push_str("<g clip-path=\"url(#");
    picture.svg.push_str(&escape(&options.id));
    picture.svg.push_str("-frame)\">\n");
    picture.isotherms(refrigerant);
    picture.qualities(refrigerant);
    picture.dome(refrigerant);
    for cycle in cycles {
        picture.cycle(cycle);
    }
    picture.svg.push_str("</g>\n");
    picture.isotherm_labels(refrigerant);
    for cycle in cycles {
        picture.cycle_labels(cycle);
    }
    picture.key(cycles, options);
    picture.svg.push_str("</svg>\n");
    Ok(picture.svg)
}

const MARGIN_LEFT: f64 = 62.0;
const MARGIN_RIGHT: f64 = 18.0;
const MARGIN_TOP: f64 = 44.0;
const MARGIN_BOTTOM: f64 = 78.0;
/// Isotherms every so many kelvin.
const ISOTHERM_STEP: i32 = 20;

/// The part of the plane shown, and where it lies on the picture.
struct Frame {
    h_low: f64,
    h_high: f64,
    ln_p_low: f64,
    ln_p_high: f64,
    p_low: f64,
    p_high: f64,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Frame {
    fn around(r: Refrigerant, cycles: &[PhCycle], (width, height): (u32, u32)) -> Frame {
        let range = r.range();
        let points = || cycles.iter().flat_map(|cycle| &cycle.points);
        // From -40 degC saturation, or below the lowest point, to above the dome.
        let coldest = r.dew_pressure(233.15).unwrap_or(range.p_saturation_low);
        let p_low = points().fold(coldest, |low, point| low.min(0.8 * point.p)).max(range.p_low);
        let p_high =
            points().fold(1.25 * r.critical_point().p, |high, point| high.max(1.2 * point.p)).min(range.p_high);
        let lowest = r.saturation_unchecked(p_low.max(range.p_saturation_low));
        let widest = (0..=20)
            .filter_map(|i| {
                let part = f64::from(i) / 20.0;
                let p = range.p_saturation_low + part * (range.p_saturation_high - range.p_saturation_low);
                r.saturation(p).ok().map(|s| s.dew.h)
            })
            .fold(f64::MIN, f64::max);
        let latent = widest - lowest.bubble.h;
        let h_low = points().fold(lowest.bubble.h, |low, p| low.min(p.h)) - 0.06 * latent;
        let h_high = points().fold(widest + 0.22 * latent, |high, p| high.max(p.h + 0.1 * latent));
        Frame {
            h_low,
            h_high,
            ln_p_low: libm::log(p_low),
            ln_p_high: libm::log(p_high),
            p_low,
            p_high,
            left: MARGIN_LEFT,
            right: f64::from(width.max(320)) - MARGIN_RIGHT,
            top: MARGIN_TOP,
            bottom: f64::from(height.max(240)) - MARGIN_BOTTOM,
        }
    }

    fn x(&self, h: f64) -> f64 {
        self.left + (h - self.h_low) / (self.h_high - self.h_low) * (self.right - self.left)
    }

    fn y(&self, p: f64) -> f64 {
        let part = (libm::log(p) - self.ln_p_low) / (self.ln_p_high - self.ln_p_low);
        self.bottom - part * (self.bottom - self.top)
    }

    fn holds_x(&self, x: f64) -> bool {
        x >= self.left && x <= self.right
    }

    /// `count` + 1 pressures from bottom to top, evenly spaced on the picture.
    fn pressures(&self, count: u32) -> impl Iterator<Item = f64> + '_ {
        (0..=count).map(move |i| {
            let part = f64::from(i) / f64::from(count);
            libm::exp(self.ln_p_low + part * (self.ln_p_high - self.ln_p_low)).clamp(self.p_low, self.p_high)
        })
    }
}

/// A run of points that is drawn as one line.
type Line = Vec<(f64, f64)>;

struct Picture {
    frame: Frame,
    svg: String,
}

/// Appends formatted text; writing to a String cannot fail.
macro_rules! put {
    ($picture:expr, $($arg:tt)*) => {
        let _ = writeln!($picture.svg, $($arg)*);
    };
}

impl Picture {
    fn head(&mut self, r: Refrigerant, cycles: &[PhCycle], options: &PhOptions) {
        let (width, height) = options.size;
        let (width, height) = (width.max(320), height.max(240));
        let id = escape(&options.id);
        let title = escape(&format!("{r}: {}", options.title));
        put!(
            self,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ph\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
             height=\"{height}\" role=\"img\" aria-labelledby=\"{id}-title {id}-desc\">"
        );
        put!(self, "<title id=\"{id}-title\">{title}</title>");
        put!(self, "<desc id=\"{id}-desc\">{}</desc>", escape(&description(cycles)));
        put!(self, "<style>{}</style>", style(options.theme));
        let f = &self.frame;
        let (w, h) = (f.right - f.left, f.bottom - f.top);
        put!(
            self,
            "<clipPath id=\"{id}-frame\"><rect x=\"{:.1}\" y=\"{:.1}\" width=\"{w:.1}\" height=\"{h:.1}\"/></clipPath>",
            f.left,
            f.top
        );
        put!(self, "<rect class=\"ph-paper\" width=\"{width}\" height=\"{height}\"/>");
        put!(self, "<text class=\"ph-heading\" x=\"{:.1}\" y=\"26\">{title}</text>", f.left);
    }

    fn axes(&mut self, options: &PhOptions) {
        let (left, right, top, bottom) = (self.frame.left, self.frame.right, self.frame.top, self.frame.bottom);
        for bar in pressure_ticks(self.frame.p_low / 1e5, self.frame.p_high / 1e5) {
            let y = self.frame.y(bar * 1e5);
            put!(
                self,
                "<path class=\"ph-grid\" d=\"M{left:.1} {y:.1}H{right:.1}\"/>\
                 <text class=\"ph-tick\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{bar}</text>",
                left - 6.0,
                y + 4.0
            );
        }
        for kilojoules in enthalpy_ticks(self.frame.h_low / 1e3, self.frame.h_high / 1e3) {
            let x = self.frame.x(kilojoules * 1e3);
            put!(
                self,
                "<path class=\"ph-grid\" d=\"M{x:.1} {top:.1}V{bottom:.1}\"/>\
                 <text class=\"ph-tick\" x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{kilojoules}</text>",
                bottom + 16.0
            );
        }
        put!(self, "<path class=\"ph-axis\" d=\"M{left:.1} {top:.1}V{bottom:.1}H{right:.1}\"/>");
        put!(
            self,
            "<text class=\"ph-label\" x=\"{right:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            bottom + 34.0,
            escape(&options.enthalpy_axis)
        );
        let middle = 0.5 * (top + bottom);
        put!(
            self,
            "<text class=\"ph-label\" transform=\"translate(16 {middle:.1}) rotate(-90)\" text-anchor=\"middle\">{}</text>",
            escape(&options.pressure_axis)
        );
    }

    fn line(&mut self, class: &str, points: &[(f64, f64)]) {
        if points.len() < 2 {
            return;
        }
        let _ = write!(self.svg, "<path class=\"{class}\" d=\"");
        for (i, &(p, h)) in points.iter().enumerate() {
            let command = if i == 0 { 'M' } else { 'L' };
            let _ = write!(self.svg, "{command}{:.1} {:.1}", self.frame.x(h), self.frame.y(p));
        }
        self.svg.push_str("\"/>\n");
    }

    fn dome(&mut self, r: Refrigerant) {
        let range = r.range();
        let low = self.frame.p_low.max(range.p_saturation_low);
        let high = range.p_saturation_high;
        // Closer points towards the top, where the curves turn.
        let ends: Vec<_> = (0..=90)
            .map(|i| {
                let part = f64::from(i) / 90.0;
                let part = 1.0 - (1.0 - part) * (1.0 - part);
                let p = libm::exp(libm::log(low) + part * (libm::log(high) - libm::log(low)));
                r.saturation_unchecked(p.clamp(low, high))
            })
            .collect();
        let bubble: Line = ends.iter().map(|s| (s.p, s.bubble.h)).collect();
        let dew: Line = ends.iter().map(|s| (s.p, s.dew.h)).collect();
        // Between the top of the table and the critical point the curves are only joined up.
        let critical = r.critical_point();
        let equation = &r.data().equation;
        let tip = Isotherm::new(equation, critical.t).properties(critical.rho / equation.rho_reducing);
        let top: Line = match (bubble.last(), dew.last()) {
            (Some(&b), Some(&d)) => arch(b, (critical.p, tip.h), d),
            _ => Line::new(),
        };
        self.line("ph-tip", &top);
        self.line("ph-dome", &bubble);
        self.line("ph-dome", &dew);
    }

    fn qualities(&mut self, r: Refrigerant) {
        for tenths in [2, 4, 6, 8] {
            let x = f64::from(tenths) / 10.0;
            let points: Line =
                self.frame.pressures(60).filter_map(|p| r.state_px(p, x).ok().map(|state| (p, state.h))).collect();
            self.line("ph-quality", &points);
            if let Some(&(p, h)) = points.first() {
                let (x, y) = (self.frame.x(h) + 3.0, self.frame.y(p) - 6.0);
                put!(self, "<text class=\"ph-small\" x=\"{x:.1}\" y=\"{y:.1}\">0.{tenths}</text>");
            }
        }
    }

    fn isotherms(&mut self, r: Refrigerant) {
        for t in isotherm_temperatures(r) {
            let points = self.isotherm(r, t);
            self.line("ph-isotherm", &points);
        }
    }

    /// From the top of the frame to its bottom: liquid, across the dome, vapour; or one sweep where it is hotter than the dome.
    fn isotherm(&self, r: Refrigerant, t: f64) -> Line {
        let kelvin = t + 273.15;
        let states: Vec<State> = self.frame.pressures(72).filter_map(|p| r.state_pt(p, kelvin).ok()).collect();
        let vapour = states.iter().filter(|state| state.phase == Phase::Vapour).count();
        let mut points: Line = states.iter().rev().map(|state| (state.p, state.h)).collect();
        if let (Ok(p_bubble), Ok(p_dew)) = (r.bubble_pressure(kelvin), r.dew_pressure(kelvin)) {
            let bubble = (p_bubble, r.saturation_unchecked(p_bubble).bubble.h);
            let dew = (p_dew, r.saturation_unchecked(p_dew).dew.h);
            let after = points.len() - vapour;
            points.splice(after..after, [bubble, dew]);
        }
        points
    }

    /// Along the upper edge for the isotherms that come down through liquid, along the lower one for the rest.
    fn isotherm_labels(&mut self, r: Refrigerant) {
        let (mut last_top, mut last_bottom) = (f64::MIN, f64::MIN);
        for t in isotherm_temperatures(r) {
            let at = |p| r.state_pt(p, t + 273.15).ok();
            let place = |state: State| Some(self.frame.x(state.h)).filter(|&x| self.frame.holds_x(x));
            let top = at(self.frame.p_high).and_then(place);
            // A line that ends in liquid or at the dew line has its label at the upper edge only.
            let bottom = at(self.frame.p_low * 0.98)
                .filter(|state| state.phase == Phase::Vapour)
                .filter(|_| r.dew_pressure(t + 273.15).map_or(true, |p| p > self.frame.p_low * 1.05))
                .and_then(place)
                .filter(|x| x + 20.0 < self.frame.right);
            let text = format!("{t}");
            if let Some(x) = top
                && x - last_top > 26.0
            {
                let y = self.frame.top - 4.0;
                put!(self, "<text class=\"ph-small\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\">{text}</text>");
                last_top = x;
            }
            if let Some(x) = bottom
                && x - last_bottom > 26.0
            {
                let y = self.frame.bottom - 5.0;
                put!(self, "<text class=\"ph-small\" x=\"{:.1}\" y=\"{y:.1}\">{text}</text>", x + 2.0);
                last_bottom = x;
            }
        }
    }

    fn cycle(&mut self, cycle: &PhCycle) {
        let class = class_of(cycle.kind);
        let mut points: Line = cycle.points.iter().map(|point| (point.p, point.h)).collect();
        points.extend(points.first().copied());
        self.line(&format!("ph-cycle {class}"), &points);
        for point in &cycle.points {
            let (x, y) = (self.frame.x(point.h), self.frame.y(point.p));
            put!(self, "<circle class=\"ph-mark {class}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.2\"/>");
        }
    }

    /// Labels stand outside the cycle: away from its middle, so that two cycles near each other stay readable.
    fn cycle_labels(&mut self, cycle: &PhCycle) {
        let class = class_of(cycle.kind);
        let count = cycle.points.len().max(1) as f64;
        let places: Line = cycle.points.iter().map(|point| (self.frame.x(point.h), self.frame.y(point.p))).collect();
        let middle_x = places.iter().map(|p| p.0).sum::<f64>() / count;
        let middle_y = places.iter().map(|p| p.1).sum::<f64>() / count;
        for (point, &(x, y)) in cycle.points.iter().zip(&places) {
            if point.label.is_empty() {
                continue;
            }
            // Measured labels stand beside their corner, expected ones above or below it.
            let right = x >= middle_x;
            let (dx, dy, anchor) = match cycle.kind {
                CycleKind::Measured if right => (9.0, 4.0, "start"),
                CycleKind::Measured => (-9.0, 4.0, "end"),
                CycleKind::Expected if y < middle_y => (0.0, -9.0, "middle"),
                CycleKind::Expected => (0.0, 17.0, "middle"),
            };
            put!(
                self,
                "<text class=\"ph-point {class}-text\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\">{}</text>",
                x + dx,
                y + dy,
                escape(&point.label)
            );
        }
    }

    fn key(&mut self, cycles: &[PhCycle], options: &PhOptions) {
        let y = self.frame.bottom + 62.0;
        let mut x = self.frame.left;
        for cycle in cycles {
            let class = class_of(cycle.kind);
            put!(
                self,
                "<path class=\"ph-cycle {class}\" d=\"M{x:.1} {:.1}h30\"/>\
                 <circle class=\"ph-mark {class}\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"4.2\"/>\
                 <text class=\"ph-label\" x=\"{:.1}\" y=\"{y:.1}\">{}</text>",
                y - 4.0,
                x + 15.0,
                y - 4.0,
                x + 37.0,
                escape(&cycle.name)
            );
            x += 60.0 + 7.5 * cycle.name.chars().count() as f64;
        }
        put!(
            self,
            "<text class=\"ph-small\" x=\"{:.1}\" y=\"{y:.1}\" text-anchor=\"end\">{}</text>",
            self.frame.right,
            escape(&options.lines_note)
        );
    }
}

fn class_of(kind: CycleKind) -> &'static str {
    match kind {
        CycleKind::Expected => "ph-expected",
        CycleKind::Measured => "ph-measured",
    }
}

/// Two quarter ellipses from `left` over `tip` to `right`, in (ln p, h).
fn arch(left: (f64, f64), tip: (f64, f64), right: (f64, f64)) -> Line {
    let quarter = |from: (f64, f64), i: i32| {
        let part = f64::from(i) / 8.0;
        // part 0 at the start, 1 at the tip.
        let h = from.1 + (tip.1 - from.1) * part;
        let rise = (1.0 - (1.0 - part) * (1.0 - part)).sqrt();
        let ln_p = libm::log(from.0) + (libm::log(tip.0) - libm::log(from.0)) * rise;
        (libm::exp(ln_p), h)
    };
    let up = (0..=8).map(|i| quarter(left, i));
    let down = (0..8).rev().map(|i| quarter(right, i));
    up.chain(down).collect()
}

/// Whole steps inside the range of states, degC.
fn isotherm_temperatures(r: Refrigerant) -> impl Iterator<Item = f64> {
    let range = r.range();
    (-80 / ISOTHERM_STEP..=200 / ISOTHERM_STEP)
        .map(|i| f64::from(i * ISOTHERM_STEP))
        .filter(move |t| (range.t_low..=range.t_high).contains(&(t + 273.15)))
}

/// 1, 2, 5 in each decade between `low` and `high`.
fn pressure_ticks(low: f64, high: f64) -> Vec<f64> {
    let mut ticks = Vec::new();
    for decade in [0.01_f64, 0.1, 1.0, 10.0, 100.0] {
        for digit in [1.0, 2.0, 5.0] {
            // Rounded, so that 0.2 is printed as 0.2.
            let tick = (decade * digit * 1000.0).round() / 1000.0;
            if tick >= low && tick <= high {
                ticks.push(tick);
            }
        }
    }
    ticks
}

/// Eight or so round steps between `low` and `high`.
fn enthalpy_ticks(low: f64, high: f64) -> Vec<f64> {
    let wanted = (high - low) / 8.0;
    let step = [10.0, 20.0, 25.0, 50.0, 100.0, 200.0].into_iter().find(|&step| step >= wanted).unwrap_or(500.0);
    let first = (low / step).ceil();
    let count = ((high / step).floor() - first) as i32;
    (0..=count).map(|i| (first + f64::from(i)) * step).collect()
}

/// The picture in words, for those who hear it.
fn description(cycles: &[PhCycle]) -> String {
    let mut text = String::from(
        "Pressure on a logarithmic vertical axis against enthalpy, with the two-phase dome, isotherms and lines of equal vapour share.",
    );
    for cycle in cycles {
        let kind = match cycle.kind {
            CycleKind::Expected => "expected",
            CycleKind::Measured => "measured",
        };
        let _ = write!(text, " {} ({kind}):", cycle.name);
        for (i, point) in cycle.points.iter().enumerate() {
            let separator = if i == 0 { " " } else { ", " };
            let label = if point.label.is_empty() { "point" } else { &point.label };
            let (bar, kilojoules) = (point.p / 1e5, point.h / 1e3);
            let _ = write!(text, "{separator}{label} at {bar:.2} bar and {kilojoules:.1} kJ/kg");
        }
        text.push('.');
    }
    text
}

/// Ink, paper, measured and expected.
const LIGHT: [&str; 4] = ["#1b1f23", "#ffffff", "#b83b00", "#1f5fbf"];
const DARK: [&str; 4] = ["#e8eaed", "#15181c", "#ff8a50", "#7db2ff"];

fn style(theme: Theme) -> String {
    const SHAPES: &str = ".ph path{fill:none;stroke-linejoin:round}.ph text{font-family:system-ui,sans-serif;font-size:12px}\
        .ph .ph-heading{font-size:16px;font-weight:600}.ph .ph-label{font-size:13px}.ph .ph-small{font-size:11px;opacity:.75}\
        .ph-grid{stroke-width:1;opacity:.12}.ph-axis{stroke-width:1.4}.ph-dome{stroke-width:2.2}.ph-tip{stroke-width:2.2;stroke-dasharray:1 4}\
        .ph-isotherm{stroke-width:1;opacity:.38}.ph-quality{stroke-width:1;stroke-dasharray:1 4;opacity:.6}\
        .ph-cycle{stroke-width:2.6}.ph path.ph-expected{stroke-dasharray:8 5}.ph-mark{stroke-width:2}\
        .ph .ph-point{font-size:14px;font-weight:700;paint-order:stroke;stroke-width:4px;stroke-linejoin:round}";
    let colours = |[ink, paper, measured, expected]: [&str; 4]| {
        format!(
            ".ph text{{fill:{ink}}}.ph-paper{{fill:{paper}}}\
             .ph-grid,.ph-axis,.ph-dome,.ph-tip,.ph-isotherm,.ph-quality{{stroke:{ink}}}\
             .ph-measured{{stroke:{measured}}}.ph circle.ph-measured{{fill:{measured}}}\
             .ph-expected{{stroke:{expected}}}.ph circle.ph-expected{{fill:{paper}}}\
             .ph text.ph-point{{stroke:{paper}}}.ph text.ph-measured-text{{fill:{measured}}}.ph text.ph-expected-text{{fill:{expected}}}"
        )
    };
    let chosen = match theme {
        Theme::Auto => {
            let dark = colours(DARK);
            format!("{}@media (prefers-color-scheme:dark){{{dark}}}", colours(LIGHT))
        }
        Theme::Light => colours(LIGHT),
        Theme::Dark => colours(DARK),
    };
    format!("{SHAPES}{chosen}")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
