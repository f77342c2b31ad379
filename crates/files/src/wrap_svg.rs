//! A drawing in mm as an SVG (W3C SVG 1.1) at true size: one unit of the drawing is one millimetre.

use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::units::Size;

use crate::lettering::{Curve, Line, Rgb};

/// One kind of thing on the sheet.
pub(crate) struct Group {
    pub name: &'static str,
    pub colour: Rgb,
    pub width: f64,
    pub dashed: bool,
    pub lines: Vec<(Point, Point)>,
    /// Lines of words, each with the map from it to the sheet.
    pub words: Vec<(Line, Affine)>,
}

pub(crate) fn document(size: Size, title: &str, sentences: &[String], groups: &[Group]) -> String {
    let (w, h) = (number(size.width.get()), number(size.height.get()));
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    out += &format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n"
    );
    out += &format!("<title>{}</title>\n<desc>{}</desc>\n", escaped(title), escaped(&sentences.join(" ")));
    for group in groups {
        let [r, g, b] = group.colour;
        let colour = format!("#{r:02x}{g:02x}{b:02x}");
        let dash = if group.dashed { " stroke-dasharray=\"3 1.5\"" } else { "" };
        let paint = if group.lines.is_empty() {
            format!("fill=\"{colour}\" stroke=\"none\"")
        } else {
            format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"{dash}", group.width)
        };
        out += &format!("<g id=\"{}\" {paint}>\n", group.name);
        for (a, b) in &group.lines {
            out += &format!("<path d=\"M{} L{}\"/>\n", at(*a), at(*b));
        }
        for (line, at) in &group.words {
            out += &format!("<path d=\"{}\"/>\n", path(&line.outlines(*at)));
        }
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
    out
}

fn path(curves: &[Curve]) -> String {
    let mut out = String::new();
    let mut pen: Option<Point> = None;
    for curve in curves {
        if pen != Some(curve.start()) {
            out += &format!("M{}", at(curve.start()));
        }
        out += &match *curve {
            Curve::Line(_, b) => format!("L{}", at(b)),
            Curve::Quad(_, b, c) => format!("Q{} {}", at(b), at(c)),
            Curve::Cubic(_, b, c, d) => format!("C{} {} {}", at(b), at(c), at(d)),
        };
        pen = Some(curve.end());
    }
    out
}

fn at(p: Point) -> String {
    format!("{} {}", number(p.x), number(p.y))
}

/// A thousandth of a millimetre is finer than any blade.
fn number(v: f64) -> String {
    let text = format!("{v:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// Text as XML takes it; control characters, which it does not, become spaces.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
