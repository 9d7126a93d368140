//! A picture under way: SVG text, with every label remembered so that overlaps can be told.

use std::fmt::Write;

/// Width of a letter in font sizes, on the wide side for the sans-serif faces that devices have.
const LETTER: f64 = 0.56;
/// The same in bold.
const BOLD_LETTER: f64 = 0.61;

/// Rules for what the pictures are made of. Everything takes the colour of the text around it.
const STYLE: &str = "\
.hs{font-family:system-ui,sans-serif;color:inherit}\
.hs text{fill:currentColor;stroke:none}\
.hs .b{font-weight:700}.hs .q{opacity:.78}\
.hs .l{fill:none;stroke:currentColor;stroke-width:1.2;stroke-linecap:round;stroke-linejoin:round}\
.hs .m{stroke-width:2}.hs .h{stroke-width:3.6}\
.hs .t{stroke-width:11;stroke-dasharray:1.1 5.3;stroke-linecap:butt}\
.hs .d{stroke-dasharray:5 4}\
.hs .f{fill:currentColor;stroke:none}\
.hs .w{fill:currentColor;fill-opacity:.1;stroke:none}\
.hs .paper{fill:var(--hs-paper,Canvas);stroke:currentColor}\
@media print{.hs{color:#000}}";

/// Colours of a picture that stands alone.
const ALONE: &str = "\
.hs{color:#16181c;background:#fff;--hs-paper:#fff}\
@media (prefers-color-scheme:dark){.hs{color:#e9ebee;background:#14161a;--hs-paper:#14161a}}\
@media print{.hs{color:#000;background:#fff;--hs-paper:#fff}}";

/// Where a text's point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its beginning.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// A text in a picture with the room that it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The words.
    pub text: String,
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub bottom: f64,
}

impl Label {
    /// Whether two take some of the same room.
    #[must_use]
    pub fn overlaps(&self, other: &Label) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }
}

/// A drawing: SVG with a title, a description in words, and its labels.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Width in its own units; one is meant to be a CSS pixel on a phone.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// What it shows, in a line.
    pub title: String,
    /// What it shows, in as many words as it takes to do without the picture.
    pub description: String,
    body: String,
    labels: Vec<Label>,
    terminals: Vec<String>,
    flags: Vec<(usize, f64, f64)>,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Type {
    pub size: f64,
    pub bold: bool,
    pub quiet: bool,
}

impl Type {
    pub const PLAIN: Type = Type { size: 11.0, bold: false, quiet: false };
    pub const SMALL: Type = Type { size: 10.0, bold: false, quiet: true };
    pub const BOLD: Type = Type { size: 11.5, bold: true, quiet: false };
    pub const TITLE: Type = Type { size: 15.0, bold: true, quiet: false };
    pub const HEADING: Type = Type { size: 13.0, bold: true, quiet: false };

    pub fn width(self, text: &str) -> f64 {
        let letter = if self.bold { BOLD_LETTER } else { LETTER };
        text.chars().count() as f64 * self.size * letter
    }

    /// Letters that fit into a width.
    pub fn fit(self, width: f64) -> usize {
        let letter = if self.bold { BOLD_LETTER } else { LETTER };
        libm::floor(width / (self.size * letter)).max(1.0) as usize
    }
}

impl Picture {
    pub(crate) fn new(width: f64, title: impl Into<String>) -> Picture {
        Picture {
            width,
            height: 0.0,
            title: title.into(),
            description: String::new(),
            body: String::new(),
            labels: Vec::new(),
            terminals: Vec::new(),
            flags: Vec::new(),
        }
    }

    /// Every text in it.
    #[must_use]
    pub fn labels(&self) -> &[Label] {
        &self.labels
    }

    /// The terminals drawn, as `PART.terminal`, once for each time that they are drawn.
    #[must_use]
    pub fn terminals(&self) -> &[String] {
        &self.terminals
    }

    /// The numbered flags with the points they stand at.
    #[must_use]
    pub fn flags(&self) -> &[(usize, f64, f64)] {
        &self.flags
    }

    pub(crate) fn terminal(&mut self, name: String) {
        self.terminals.push(name);
    }

    pub(crate) fn flag(&mut self, number: usize, x: f64, y: f64) {
        self.flags.push((number, x, y));
    }

    pub(crate) fn line(&mut self, class: &str, x1: f64, y1: f64, x2: f64, y2: f64) {
        let _ = writeln!(
            self.body,
            "<path class=\"{class}\" d=\"M{} {}L{} {}\"/>",
            number(x1),
            number(y1),
            number(x2),
            number(y2)
        );
    }

    pub(crate) fn path(&mut self, class: &str, d: &str) {
        let _ = writeln!(self.body, "<path class=\"{class}\" d=\"{d}\"/>");
    }

    pub(crate) fn circle(&mut self, class: &str, x: f64, y: f64, r: f64) {
        let _ = writeln!(
            self.body,
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            number(x),
            number(y),
            number(r)
        );
    }

    pub(crate) fn rect(&mut self, class: &str, x: f64, y: f64, w: f64, h: f64, r: f64) {
        let _ = writeln!(
            self.body,
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\"/>",
            number(x),
            number(y),
            number(w),
            number(h),
            number(r)
        );
    }

    /// A text with its baseline at `y`.
    pub(crate) fn text(&mut self, x: f64, y: f64, anchor: Anchor, set: Type, text: &str) {
        if text.is_empty() {
            return;
        }
        let width = set.width(text);
        let left = match anchor {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::End => x - width,
        };
        self.labels.push(Label {
            text: text.to_owned(),
            left,
            top: y - 0.8 * set.size,
            right: left + width,
            bottom: y + 0.2 * set.size,
        });
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let class = match (set.bold, set.quiet) {
            (false, false) => "",
            (true, false) => " class=\"b\"",
            (false, true) => " class=\"q\"",
            (true, true) => " class=\"b q\"",
        };
        let _ = writeln!(
            self.body,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{class}>{}</text>",
            number(x),
            number(y),
            number(set.size),
            escaped(text)
        );
    }

    /// Lines of text, wrapped; gives the baseline below the last.
    pub(crate) fn paragraph(&mut self, x: f64, y: f64, width: f64, set: Type, text: &str) -> f64 {
        let mut y = y;
        for line in wrap(text, set.fit(width)) {
            self.text(x, y, Anchor::Start, set, &line);
            y += set.size * 1.3;
        }
        y
    }

    /// For a page: takes the page's text colour. `id` must be its own on the page.
    #[must_use]
    pub fn inline(&self, id: &str) -> String {
        self.svg(id, STYLE, "")
    }

    /// For a file of its own: brings light and dark colours along.
    #[must_use]
    pub fn standalone(&self) -> String {
        let size = format!(" width=\"{}\" height=\"{}\"", number(self.width), number(self.height));
        self.svg("picture", &format!("{STYLE}{ALONE}"), &size)
    }

    fn svg(&self, id: &str, style: &str, size: &str) -> String {
        let id = escaped(id);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"hs\" viewBox=\"0 0 {w} {h}\"{size} role=\"img\" aria-labelledby=\"{id}-title {id}-desc\">\n<title id=\"{id}-title\">{title}</title>\n<desc id=\"{id}-desc\">{desc}</desc>\n<style>{style}</style>\n{body}</svg>\n",
            w = number(self.width),
            h = number(self.height),
            title = escaped(&self.title),
            desc = escaped(&self.description),
            body = self.body,
        )
    }
}

/// A drawing that takes the colour of the text around it (as the cycle of [`halfsplit_workshop::pictures::CycleView`]
/// does), made to stand alone: it brings light and dark colours along.
#[must_use]
pub fn alone(svg: &str) -> String {
    svg.replacen("<style>", &format!("<style>{}", ALONE.replace(".hs{", "svg{")), 1)
}

/// A length with at most one decimal.
pub(crate) fn number(x: f64) -> String {
    let tenths = libm::round(x * 10.0);
    let text = format!("{:.1}", tenths / 10.0);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text for XML.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // XML 1.0 has no other control characters than these.
            c if c.is_control() && !matches!(c, '\t' | '\n' | '\r') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Lines of at most so many letters, broken at blanks, and within words that are longer.
pub(crate) fn wrap(text: &str, letters: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    // Not at the blank between a number and its unit.
    for word in text.split([' ', '\n', '\t']).filter(|w| !w.is_empty()) {
        let mut word: Vec<char> = word.chars().collect();
        if !line.is_empty() && line.chars().count() + 1 + word.len() > letters {
            lines.push(std::mem::take(&mut line));
        }
        while word.len() > letters {
            lines.push(word.drain(..letters).collect());
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.extend(word);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// At most so many letters, the end marked where something is cut off.
pub(crate) fn fit(text: &str, letters: usize) -> String {
    if text.chars().count() <= letters {
        return text.to_owned();
    }
    let kept: String = text.chars().take(letters.saturating_sub(1)).collect();
    if letters == 0 { String::new() } else { format!("{}…", kept.trim_end()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_short_and_never_minus_nothing() {
        assert_eq!(["3.25", "3", "-0.04"].map(|t| number(t.parse().unwrap())), ["3.3", "3", "0"]);
    }

    #[test]
    fn what_comes_from_a_sheet_cannot_break_out() {
        let mut p = Picture::new(100.0, "a < b & \"c\"");
        p.text(0.0, 0.0, Anchor::Start, Type::PLAIN, "</text><script>");
        let svg = p.standalone();
        assert!(svg.contains("a &lt; b &amp; &quot;c&quot;") && !svg.contains("<script>"));
    }

    #[test]
    fn what_is_made_to_stand_alone_has_colours_for_light_and_dark() {
        let svg = alone("<svg fill=\"none\"><style>text{fill:currentColor}</style></svg>");
        assert!(svg.contains("<style>svg{color:#16181c") && svg.contains("dark){svg{color:#e9ebee"), "{svg}");
        assert!(svg.ends_with("text{fill:currentColor}</style></svg>"));
    }

    #[test]
    fn no_word_is_lost_in_wrapping() {
        let text = "expansion valve and an-uncommonly-long-word-in-it";
        let lines = wrap(text, 12);
        assert!(lines.iter().all(|l| l.chars().count() <= 12), "{lines:?}");
        assert_eq!(lines.join("").replace(' ', ""), text.replace(' ', ""));
    }
}
