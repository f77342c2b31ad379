//! What stands in for the inks where a program cannot print them: Lab colours, of one ink relative to the paper and
//! of all of them on it.

use pdf_writer::{Chunk, Finish as _, Ref};
use slipsheet_core::colour::{Lab, Xyz};
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::{Overprint, OverprintError};
use slipsheet_document::printing::Printing;

use crate::deflate::zlib;
use crate::plates::Plate;

/// The D50 white (ISO 13655), which Lab values relate to.
const D50: [f32; 3] = [0.9642, 1.0, 0.8249];
const RANGE: [f32; 4] = [-128.0, 127.0, -128.0, 127.0];

/// The alternates of a face's inks.
pub(super) struct Alternates {
    /// Names of the separations, no two alike.
    pub names: Vec<String>,
    model: Overprint,
    /// Effective for asked-for coverage, an ink.
    inks: Vec<Ink>,
}

impl Alternates {
    pub fn new(printing: &Printing, of_face: &[&Plate]) -> Result<Self, OverprintError> {
        let inks: Vec<&Ink> =
            of_face.iter().filter_map(|p| printing.sheet.layers.get(p.layer)).map(|l| &l.ink).collect();
        let model = Overprint::of(&printing.sheet.stock, &inks, &printing.overprints)?;
        Ok(Self { names: names(&inks), model, inks: inks.into_iter().cloned().collect() })
    }

    pub fn lab_space(&self, pdf: &mut Chunk, id: Ref) {
        pdf.color_space(id).lab(D50, None, Some(RANGE));
    }

    /// Writes the function from all inks to Lab, sampled on a grid. Without ink it is the stock's own colour.
    pub fn function(&self, pdf: &mut Chunk, id: Ref) {
        let inks = self.inks.len();
        let side = steps(inks);
        let mut samples = Vec::with_capacity(3 * side.pow(inks as u32));
        for i in 0..side.pow(inks as u32) {
            // The first ink runs fastest (ISO 32000-1, 7.10.2).
            let asked =
                (0..inks).map(|k| i / side.pow(k as u32) % side).map(|n| n as f64 / (side - 1) as f64);
            samples.extend(bytes(self.printed(&asked.collect::<Vec<_>>()).lab()));
        }
        sampled(pdf, id, &samples, &vec![side as i32; inks]);
    }

    /// Writes the function from one ink to Lab.
    pub fn tint(&self, pdf: &mut Chunk, ink: usize, id: Ref) {
        const SIDE: usize = 33;
        let at = |i: usize| {
            let mut asked = vec![0.0; self.inks.len()];
            if let Some(a) = asked.get_mut(ink) {
                *a = i as f64 / (SIDE - 1) as f64;
            }
            bytes(self.relative(&asked).lab())
        };
        let samples: Vec<u8> = (0..SIDE).flat_map(at).collect();
        sampled(pdf, id, &samples, &[SIDE as i32]);
    }

    fn printed(&self, asked: &[f64]) -> Xyz {
        let cover: Vec<f64> = asked.iter().zip(&self.inks).map(|(a, ink)| ink.curve.effective(*a)).collect();
        self.model.mix(&cover)
    }

    /// The same as if the paper were white.
    fn relative(&self, asked: &[f64]) -> Xyz {
        let (printed, paper) = (self.printed(asked).light(), self.model.primary(0).light());
        Xyz::from_light(std::array::from_fn(|c| printed[c] / paper[c].max(1e-6)))
    }
}

/// Samples along each ink's axis: fewer for more inks, so that the table stays below some kilobytes.
fn steps(inks: usize) -> usize {
    match inks {
        0..=2 => 17,
        3 => 9,
        4 => 6,
        5 => 5,
        6 => 4,
        _ => 3,
    }
}

fn bytes(lab: Lab) -> [u8; 3] {
    let byte = |v: f64| v.round().clamp(0.0, 255.0) as u8;
    [byte(lab.l() * 2.55), byte(lab.a() + 128.0), byte(lab.b() + 128.0)]
}

fn sampled(pdf: &mut Chunk, id: Ref, samples: &[u8], size: &[i32]) {
    let packed = zlib(samples);
    let [a0, a1, b0, b1] = RANGE;
    let range = [0.0, 100.0, a0, a1, b0, b1];
    let mut function = pdf.sampled_function(id, &packed);
    function.filter(pdf_writer::Filter::FlateDecode);
    function.domain(size.iter().flat_map(|_| [0.0, 1.0])).range(range);
    function.size(size.iter().copied()).bits_per_sample(8).decode(range);
    function.finish();
}

/// The inks' names; an ink that is there twice gets a number, as no two separations may have one name.
fn names(inks: &[&Ink]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for ink in inks {
        // “All” and “None” mean something else in a PDF, and an empty name is none.
        let plain = match ink.name.trim() {
            "" => "Ink".to_owned(),
            "All" | "None" => format!("Ink {}", ink.name.trim()),
            name => name.chars().filter(|c| *c != '\0').take(100).collect(),
        };
        let free = |name: &String| !names.contains(name);
        let numbered = (2..).map(|i| format!("{plain} {i}"));
        let name = std::iter::once(plain.clone()).chain(numbered).find(free);
        names.extend(name);
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_separations_have_one_name() {
        let ink = |name: &str| Ink::estimated(name, Lab::WHITE);
        let all = [ink("Hip-berry red"), ink("Hip-berry red"), ink("None"), ink(" "), ink("Hip-berry red 2")];
        let found = names(&all.iter().collect::<Vec<_>>());
        assert_eq!(found, ["Hip-berry red", "Hip-berry red 2", "Ink None", "Ink", "Hip-berry red 2 2"]);
    }
}
