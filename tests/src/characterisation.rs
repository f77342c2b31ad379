//! Press characterisations: ink combinations and the colours measured on them, and how well a model
//! predicts them from paper, single solids and single-ink ramps.

use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::stock::Finish;
use slipsheet_core::tone::{ToneCurve, yule_nielsen};

use crate::data;

/// One measured patch: dot areas of C, M, Y, K (0..=1) as asked for, and the colour.
#[derive(Debug, Clone, Copy)]
pub struct Patch {
    /// C, M, Y, K, each 0..=1.
    pub cover: [f64; 4],
    /// As measured.
    pub lab: Lab,
}

/// A characterisation with the floor of its paper.
#[derive(Debug, Clone)]
pub struct Characterisation {
    /// Every patch.
    pub patches: Vec<Patch>,
    /// The floor its kind of paper has.
    pub floor: f64,
    /// Yule-Nielsen n of its kind of paper.
    pub n: f64,
}

/// Mean, 95th percentile and worst of a list.
#[derive(Debug, Clone, Copy)]
pub struct Spread {
    /// Arithmetic mean.
    pub mean: f64,
    /// 95th percentile.
    pub p95: f64,
    /// Largest.
    pub worst: f64,
}

/// Statistics of CIEDE2000 differences.
pub fn spread(mut values: Vec<f64>) -> Spread {
    values.sort_by(f64::total_cmp);
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    Spread { mean, p95: values[values.len() * 95 / 100], worst: values[values.len() - 1] }
}

impl Characterisation {
    /// Reads a CGATS table from `tests/data`, printed on this kind of paper.
    pub fn read(name: &str, finish: Finish) -> Self {
        let text = std::fs::read_to_string(data(name)).unwrap().replace("\r\n", "\n");
        let rows = text.split("BEGIN_DATA\n").nth(1).unwrap().split("END_DATA").next().unwrap();
        let patches = rows
            .lines()
            .filter(|l| !l.trim().is_empty())
            .map(|line| {
                let v: Vec<f64> = line.split_whitespace().skip(1).map(|v| v.parse().unwrap()).collect();
                Patch {
                    cover: [v[0] / 100.0, v[1] / 100.0, v[2] / 100.0, v[3] / 100.0],
                    lab: Lab::new(v[7], v[8], v[9]).unwrap(),
                }
            })
            .collect();
        Self { patches, floor: finish.floor(), n: finish.yule_nielsen() }
    }

    /// The patch with exactly these dot areas.
    pub fn at(&self, cover: [f64; 4]) -> Lab {
        self.patches.iter().find(|p| p.cover == cover).unwrap().lab
    }

    /// The solids of C, M, Y and K.
    pub fn solids(&self) -> [Lab; 4] {
        std::array::from_fn(|ink| self.at(std::array::from_fn(|k| if k == ink { 1.0 } else { 0.0 })))
    }

    /// The paper.
    pub fn paper(&self) -> Lab {
        self.at([0.0; 4])
    }

    /// Our model of C, M, Y and K, printed in that order, from paper and single solids alone.
    pub fn model(&self, n: f64, trap: f64, floor: f64) -> Overprint {
        self.model_in_order([0, 1, 2, 3], n, trap, floor)
    }

    /// The same with ink `order[k]` of C, M, Y, K printed k-th.
    pub fn model_in_order(&self, order: [usize; 4], n: f64, trap: f64, floor: f64) -> Overprint {
        let solids = self.solids();
        let films = order.map(|k| Film {
            solid: solids[k],
            on: self.paper(),
            on_floor: floor,
            opacity: 0.0,
            emission: 1.0,
        });
        Overprint::new(&Ground { paper: self.paper(), floor, trap, n }, &films).unwrap()
    }

    /// One tone curve per ink, fitted to its own ramp alone under a model.
    pub fn curves(&self, model: &Overprint) -> [ToneCurve; 4] {
        std::array::from_fn(|ink| {
            let mut ramp: Vec<(f64, Lab)> = self
                .patches
                .iter()
                .filter(|p| (0..4).all(|k| k == ink || p.cover[k] == 0.0))
                .map(|p| (p.cover[ink], p.lab))
                .collect();
            ramp.sort_by(|a, b| a.0.total_cmp(&b.0));
            ramp.dedup_by(|a, b| a.0 == b.0);
            let points = ramp.iter().map(|&(asked, lab)| (asked, effective(model, ink, lab))).collect();
            ToneCurve::new(points).unwrap()
        })
    }

    /// Differences between prediction and measurement for every patch without black, or for every one with it.
    pub fn errors(&self, model: &Overprint, curves: &[ToneCurve; 4], black: bool) -> Vec<f64> {
        self.patches
            .iter()
            .filter(|p| (p.cover[3] > 0.0) == black)
            .map(|p| {
                let cover: Vec<f64> = (0..4).map(|k| curves[k].effective(p.cover[k])).collect();
                model.mix(&cover).lab().ciede2000(p.lab)
            })
            .collect()
    }

    /// Differences for the overprints of two and more solids without black, or with it.
    pub fn solid_errors(&self, model: &Overprint, black: bool) -> Vec<f64> {
        self.solid_errors_in_order(model, [0, 1, 2, 3], black)
    }

    /// The same for a model whose k-th printed ink is `order[k]` of C, M, Y, K.
    pub fn solid_errors_in_order(&self, model: &Overprint, order: [usize; 4], black: bool) -> Vec<f64> {
        (0..16_usize)
            .filter(|mask| mask.count_ones() > 1 && (mask >> 3 == 1) == black)
            .map(|mask| {
                let cover: [f64; 4] = std::array::from_fn(|k| (mask >> k & 1) as f64);
                model.mix(&order.map(|k| cover[k])).lab().ciede2000(self.at(cover))
            })
            .collect()
    }
}

/// Effective coverage of one ink's tint: Yule-Nielsen on the channel of light that the ink absorbs most.
fn effective(model: &Overprint, ink: usize, tint: Lab) -> f64 {
    let (paper, solid, tint) = (model.primaries()[0], model.primaries()[1 << ink], tint.light());
    let channel = (0..3).max_by(|a, b| (paper[*a] - solid[*a]).total_cmp(&(paper[*b] - solid[*b]))).unwrap();
    yule_nielsen(paper[channel], solid[channel], tint[channel], model.n()).clamp(0.0, 1.0)
}
