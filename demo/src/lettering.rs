//! Letters from the two bundled faces: titles cut with scissors, text set by hand.

use ab_glyph::{Font as _, FontRef, OutlineCurve};
use anyhow::Context as _;

use crate::field::Field;
use crate::noise::Rng;
use crate::shape::{Bounds, Outline, V, faceted, v};

const TITLE: &[u8] = include_bytes!("../../assets/fonts/AlfaSlabOne_400Regular.ttf");
const TEXT: &[u8] = include_bytes!("../../assets/fonts/PublicSans_600SemiBold.ttf");

/// The two faces.
#[derive(Debug)]
pub struct Case {
    title: FontRef<'static>,
    text: FontRef<'static>,
}

/// How a block of running text is set.
#[derive(Debug, Clone, Copy)]
pub struct Setting {
    /// Baseline of the first line, at its left end (or its middle, when centred).
    pub at: V,
    /// Size in points.
    pub points: f32,
    /// Longest line, mm.
    pub measure: f32,
    /// Lines hang around the middle instead of from the left.
    pub centred: bool,
}

/// mm in a point, 1/72 inch.
const MM_PER_POINT: f32 = 25.4 / 72.0;
/// Room between cut letters, em.
const GAP: f32 = 0.01;

impl Case {
    /// Opens the faces.
    ///
    /// # Errors
    /// When a bundled font file is damaged.
    pub fn open() -> anyhow::Result<Self> {
        let face = |bytes, name| {
            FontRef::try_from_slice(bytes)
                .with_context(|| format!("restore the font file {name} in assets/fonts"))
        };
        Ok(Self { title: face(TITLE, "AlfaSlabOne")?, text: face(TEXT, "PublicSans")? })
    }

    /// A word cut letter by letter from coloured paper: every curve a few straight snips. The word is
    /// `size.x` mm wide and its capitals `size.y` mm tall, standing on `at`, letters turned and shifted a little.
    pub fn cut(&self, word: &str, at: V, size: V, rng: &mut Rng) -> Vec<Vec<Outline>> {
        let natural = word.chars().map(|c| advance(&self.title, c) + GAP).sum::<f32>() - GAP;
        let capital = Bounds::around(contours(&self.title, 'H').iter().flatten(), 0.0);
        let em = v(size.x / natural.max(0.01), size.y / (capital.y1 - capital.y0).max(0.01));
        let mut x = at.x;
        let mut letters = Vec::new();
        for c in word.chars() {
            let step = advance(&self.title, c);
            let centre = v(step / 2.0, (capital.y0 + capital.y1) / 2.0);
            let middle = v(x + step * em.x / 2.0, at.y - size.y / 2.0 + rng.jitter(0.07) * size.y);
            let (turn, grow) = (rng.jitter(5.0), 1.0 + rng.jitter(0.07));
            let mut snip = |p: V| {
                let p = p - centre + v(rng.jitter(0.014), rng.jitter(0.012));
                middle + v(p.x * em.x * grow, p.y * em.y * grow).turned(turn)
            };
            letters.push(
                contours(&self.title, c)
                    .iter()
                    .map(|o| faceted(o, 0.017).into_iter().map(&mut snip).collect())
                    .collect(),
            );
            x += (step + GAP) * em.x;
        }
        letters
    }

    /// Sets text in ink by hand: the lines break at the measure, no letter quite on the line.
    /// Returns the room it took.
    pub fn set(&self, field: &mut Field, text: &str, how: Setting, rng: &mut Rng) -> Bounds {
        let em = how.points * MM_PER_POINT;
        let mut all = Vec::new();
        for (i, line) in self.lines(text, how.measure / em).iter().enumerate() {
            let width = self.width(line) * em;
            let left = if how.centred { how.at.x - width / 2.0 } else { how.at.x };
            let mut x = left + rng.jitter(0.12);
            let y = how.at.y + i as f32 * em * 1.36;
            let mut last = None;
            for c in line.chars() {
                if let Some(before) = last {
                    x += kern(&self.text, before, c) * em;
                }
                let at = v(x, y + rng.jitter(0.07));
                let (turn, size) = (rng.jitter(1.1), em * (1.0 + rng.jitter(0.018)));
                let rough = |p: &V, rng: &mut Rng| {
                    at + (*p * size).turned(turn) + v(rng.jitter(0.022), rng.jitter(0.022))
                };
                let glyph: Vec<Outline> = contours(&self.text, c)
                    .iter()
                    .map(|o| o.iter().map(|p| rough(p, rng)).collect())
                    .collect();
                crate::crayon::solid(field, &glyph);
                all.extend(glyph.into_iter().flatten());
                x += (advance(&self.text, c) + 0.008) * em;
                last = Some(c);
            }
        }
        Bounds::around(&all, 0.0)
    }

    fn width(&self, line: &str) -> f32 {
        line.chars().map(|c| advance(&self.text, c) + 0.008).sum()
    }

    /// Breaks at spaces to keep lines under `measure` em, and at line ends that the text asks for.
    fn lines(&self, text: &str, measure: f32) -> Vec<String> {
        let mut lines = Vec::new();
        for part in text.split('\n') {
            let mut line = String::new();
            for word in part.split(' ') {
                let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
                if !line.is_empty() && self.width(&longer) > measure {
                    lines.push(std::mem::replace(&mut line, word.to_owned()));
                } else {
                    line = longer;
                }
            }
            lines.push(line);
        }
        lines
    }
}

fn advance(font: &FontRef<'_>, c: char) -> f32 {
    font.h_advance_unscaled(font.glyph_id(c)) / font.units_per_em().unwrap_or(1000.0)
}

fn kern(font: &FontRef<'_>, a: char, b: char) -> f32 {
    font.kern_unscaled(font.glyph_id(a), font.glyph_id(b)) / font.units_per_em().unwrap_or(1000.0)
}

/// The outlines of a glyph in em, y down from the baseline, curves as short chords.
fn contours(font: &FontRef<'_>, c: char) -> Vec<Outline> {
    let em = font.units_per_em().unwrap_or(1000.0);
    let point = |p: ab_glyph::Point| v(p.x / em, -p.y / em);
    let mut all: Vec<Outline> = Vec::new();
    let mut end: Option<V> = None;
    let outline = font.outline(font.glyph_id(c));
    for curve in outline.iter().flat_map(|o| &o.curves) {
        let (a, chord): (V, Vec<V>) = match *curve {
            OutlineCurve::Line(a, b) => (point(a), vec![point(b)]),
            OutlineCurve::Quad(a, b, c) => (point(a), bezier(point(a), point(b), point(b), point(c), true)),
            OutlineCurve::Cubic(a, b, c, d) => {
                (point(a), bezier(point(a), point(b), point(c), point(d), false))
            }
        };
        let joined = end.is_some_and(|e| (e - a).length() < 1e-4);
        if !joined {
            all.push(vec![a]);
        }
        end = chord.last().copied();
        if let Some(open) = all.last_mut() {
            open.extend(chord);
        }
    }
    for outline in &mut all {
        // The last chord closes the outline on its first point, which need not be said twice.
        outline.pop();
    }
    all
}

fn bezier(a: V, b: V, c: V, d: V, quadratic: bool) -> Vec<V> {
    const STEPS: usize = 7;
    let at = |i: usize| {
        let t = i as f32 / STEPS as f32;
        let s = 1.0 - t;
        if quadratic {
            a * (s * s) + b * (2.0 * s * t) + d * (t * t)
        } else {
            a * (s * s * s) + b * (3.0 * s * s * t) + c * (3.0 * s * t * t) + d * (t * t * t)
        }
    };
    (1..=STEPS).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_breaks_at_the_measure_and_keeps_its_words() {
        let case = Case::open().unwrap();
        let lines = case.lines("High water leaves a line of writing.", 12.0);
        assert!(lines.len() > 1);
        assert_eq!(lines.join(" "), "High water leaves a line of writing.");
        assert!(lines.iter().all(|l| case.width(l) <= 12.0));
    }

    #[test]
    fn a_cut_word_is_as_wide_as_asked_and_has_few_corners() {
        let letters = Case::open().unwrap().cut("TIDE", v(5.0, 30.0), v(50.0, 16.0), &mut Rng::new(3));
        let b = Bounds::around(letters.iter().flatten().flatten(), 0.0);
        assert!((b.x1 - b.x0 - 50.0).abs() < 4.0, "{b:?}");
        assert!(letters.iter().all(|l| l.iter().map(Vec::len).sum::<usize>() < 60));
    }
}
