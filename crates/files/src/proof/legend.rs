//! The legend below the print: what it is, each ink as a solid and a half tone on the stock, and what each
//! pair of inks makes of one another.
//!
//! It is laid out in columns of equal width: the title has the first to itself where there is room for
//! two or more, and inks and overprints fill the others row by row.

use slipsheet_core::overprint::Overprint;
use slipsheet_document::layer::Layer;

use super::canvas::{Canvas, DARK, PxRect, SOFT};
use super::{ProofError, Sheet};
use crate::lettering::{Lettering, Rgb, Style};
use crate::words;

/// Lengths in mm.
const COLUMN: f64 = 54.0;
const GAP: f64 = 6.0;
const TITLE_ROWS: f64 = 20.0;
/// From one fact below the title to the next, in mm.
const FACT_LINE: f64 = 3.2;
const TITLE_LINE: f64 = 5.2;
const INK_ROW: f64 = 12.5;
const PAIR_ROW: f64 = 9.5;
const HALF_COLUMN: f64 = 34.0;
const FOOT: f64 = 1.0;
/// Rows of pairs above which they stand closer.
const MANY_PAIRS: usize = 4;

const TITLE: Style = Style::semi_bold(12.0, DARK);
const NAME: Style = Style::semi_bold(7.0, DARK);
const NOTE: Style = Style::regular(6.25, SOFT);

/// One ink, or one pair.
struct Entry {
    /// One patch or two, on the stock.
    patches: Vec<Rgb>,
    name: String,
    notes: Vec<String>,
}

pub(super) struct Legend {
    lettering: Lettering,
    px_per_mm: f64,
    /// The title, on one line or two.
    title: Vec<String>,
    facts: Vec<String>,
    stock: Rgb,
    inks: Vec<Entry>,
    pairs: Vec<Entry>,
    /// Whether the title has a column of its own; it lies above the entries otherwise.
    beside: bool,
    columns: usize,
    pair_columns: usize,
    /// Width of a column in mm.
    column: f64,
}

impl Legend {
    pub fn plan(sheet: &Sheet<'_>, width_px: usize) -> Result<Self, ProofError> {
        let printing = sheet.printing;
        let lettering = Lettering::new()?;
        let px_per_mm = sheet.options.dpi.px_per_mm();
        let width = width_px as f64 / px_per_mm;
        let shown: Vec<(usize, &Layer)> = printing.sheet.on(sheet.face).filter(|(_, l)| l.visible).collect();
        let inks: Vec<_> = shown.iter().map(|(_, l)| &l.ink).collect();
        let model = Overprint::of(&printing.sheet.stock, &inks, &printing.overprints)?;
        let entry = |(k, (index, layer)): (usize, &(usize, &Layer))| ink(sheet, &model, k, *index, layer);
        let inks = shown.iter().enumerate().map(entry).collect();
        let pairs = (0..shown.len()).flat_map(|i| (i + 1..shown.len()).map(move |j| (i, j)));
        let pairs: Vec<Entry> = pairs.map(|(i, j)| pair(sheet, &model, &shown, (i, j))).collect();
        let all = (((width + GAP) / (COLUMN + GAP)).floor() as usize).max(1);
        let column = (width + GAP) / all as f64 - GAP;
        let beside = all > 1;
        let columns = if beside { all - 1 } else { 1 };
        let halves_fit = (column - GAP) / 2.0 >= HALF_COLUMN - GAP;
        let pair_columns =
            if pairs.len() > MANY_PAIRS * columns && halves_fit { 2 * columns } else { columns };
        let face = match sheet.place {
            Some(place) => format!("page {}", place.page),
            None => sheet.face.name().to_lowercase(),
        };
        let mut facts = vec![
            format!("{}, {face}", words::sheet(printing)),
            words::fold(printing).to_owned(),
            words::stock(printing),
        ];
        let mut notes: Vec<String> = words::turning(printing, sheet.face).into_iter().collect();
        if sheet.options.show_through {
            notes.push("What shows through from the other face is an estimate.".to_owned());
        }
        facts.extend(notes.iter().flat_map(|n| lettering.wrapped_to(2, n, column, NOTE)));
        Ok(Self {
            title: lettering.wrapped_to(2, &printing.title, column, TITLE),
            lettering,
            px_per_mm,
            facts,
            stock: model.primary(0).shown().rgb,
            inks,
            pairs,
            beside,
            columns,
            pair_columns,
            column,
        })
    }

    /// Height in pixels.
    pub fn height(&self) -> usize {
        let entries = self.ink_height() + self.pair_height();
        let mm = if self.beside { entries.max(self.title_height()) } else { self.title_height() + entries };
        ((mm + FOOT) * self.px_per_mm).round() as usize
    }

    /// Draws the legend below a print, from row `top` on.
    pub fn draw(&self, print: PxRect, top: usize, canvas: &mut Canvas) {
        let (left, top) = (print.x as f64 / self.px_per_mm, top as f64 / self.px_per_mm);
        self.draw_title(canvas, left, top);
        let (x, y) =
            if self.beside { (left + self.column + GAP, top) } else { (left, top + self.title_height()) };
        self.draw_entries(canvas, (x, y), &self.inks, (self.columns, INK_ROW));
        self.draw_entries(canvas, (x, y + self.ink_height()), &self.pairs, (self.pair_columns, PAIR_ROW));
    }

    fn title_height(&self) -> f64 {
        let more = self.facts.len().saturating_sub(3) as f64;
        TITLE_ROWS + TITLE_LINE * self.title.len().saturating_sub(1) as f64 + FACT_LINE * more
    }

    fn ink_height(&self) -> f64 {
        self.inks.len().div_ceil(self.columns) as f64 * INK_ROW
    }

    fn pair_height(&self) -> f64 {
        self.pairs.len().div_ceil(self.pair_columns) as f64 * PAIR_ROW
    }

    fn draw_title(&self, canvas: &mut Canvas, x: f64, y: f64) {
        let px = |mm: f64| mm * self.px_per_mm;
        let fitted = |text: &str, style| self.lettering.fitted(text, self.column, style);
        let mut baseline = y + 3.6;
        for (i, line) in self.title.iter().enumerate() {
            baseline += if i > 0 { TITLE_LINE } else { 0.0 };
            canvas.words(&fitted(line, TITLE), (px(x), px(baseline)));
        }
        baseline += 4.6;
        for fact in &self.facts {
            canvas.words(&fitted(fact, NOTE), (px(x), px(baseline)));
            baseline += FACT_LINE;
        }
    }

    fn draw_entries(
        &self,
        canvas: &mut Canvas,
        (x, y): (f64, f64),
        entries: &[Entry],
        (columns, row): (usize, f64),
    ) {
        let whole = self.columns as f64 * (self.column + GAP) - GAP;
        let width = (whole + GAP) / columns as f64 - GAP;
        // The first lines of all entries stand level, however many notes one has.
        let lines = entries.iter().map(|e| 1 + e.notes.len()).max().unwrap_or(1);
        for (i, entry) in entries.iter().enumerate() {
            let at_x = x + (i % columns) as f64 * (width + GAP);
            let at_y = y + (i / columns) as f64 * row;
            self.draw_entry(canvas, (entry, lines), (at_x, at_y), (width, row));
        }
    }

    /// Draws an entry whose text is set for this number of lines.
    fn draw_entry(
        &self,
        canvas: &mut Canvas,
        (entry, lines): (&Entry, usize),
        (x, y): (f64, f64),
        (width, row): (f64, f64),
    ) {
        let px = |mm: f64| mm * self.px_per_mm;
        let snap = |mm: f64| px(mm).round() as usize;
        let rect = |x: f64, y: f64, w: f64, h: f64| {
            let (x0, y0) = (snap(x), snap(y));
            PxRect { x: x0, y: y0, width: snap(x + w) - x0, height: snap(y + h) - y0 }
        };
        let edge = 1.2;
        let (patch, height) = (7.0, row - 3.0);
        let paper = patch * entry.patches.len() as f64 + 2.0 * edge;
        let stock = rect(x, y, paper, height);
        canvas.fill(stock, self.stock);
        for (i, colour) in entry.patches.iter().enumerate() {
            let at = x + edge + patch * i as f64;
            canvas.fill(rect(at, y + edge, patch, height - 2.0 * edge), *colour);
        }
        canvas.outline(stock);
        let (text_x, room) = (x + paper + 2.2, width - paper - 2.2);
        // Lines are set about the middle of the patches.
        let mut baseline = y + height / 2.0 - (lines as f64 - 1.0) * 1.45 + 0.9;
        let fitted = |text: &str, style| self.lettering.fitted(text, room, style);
        canvas.words(&fitted(&entry.name, NAME), (px(text_x), px(baseline)));
        for note in &entry.notes {
            baseline += 2.9;
            canvas.words(&fitted(note, NOTE), (px(text_x), px(baseline)));
        }
    }
}

fn ink(sheet: &Sheet<'_>, model: &Overprint, k: usize, index: usize, layer: &Layer) -> Entry {
    let mut cover = vec![0.0; model.inks()];
    if let Some(c) = cover.get_mut(k) {
        *c = layer.ink.curve.effective(0.5);
    }
    let patches = vec![model.primary(1 << k).shown().rgb, model.mix(&cover).shown().rgb];
    let share = sheet.scene.coverage(index) * 100.0;
    let share = if share > 0.0 && share < 1.0 { "under 1".to_owned() } else { words::number(share, 0) };
    let mut notes =
        vec![format!("{share} % of the sheet, {}", layer.ink.standing_on(&sheet.printing.sheet.stock))];
    if !sheet.options.perfect {
        notes.extend(words::slip(layer.slip).map(|s| format!("slip {s}")));
    }
    Entry {
        patches,
        name: format!("{}  {}", words::plate_number(&sheet.order, index), layer.ink.name),
        notes,
    }
}

fn pair(sheet: &Sheet<'_>, model: &Overprint, shown: &[(usize, &Layer)], (i, j): (usize, usize)) -> Entry {
    let name = |k: usize| shown.get(k).map_or("", |(_, l)| l.ink.name.as_str());
    let (below, above) = (name(i), name(j));
    let printing = sheet.printing;
    let number =
        |k: usize| shown.get(k).map_or_else(String::new, |(i, _)| words::plate_number(&sheet.order, *i));
    let measured = printing.overprints.iter().any(|s| {
        s.stock == printing.sheet.stock.name && s.inks.iter().map(String::as_str).eq([below, above])
    });
    let known = if measured { ", measured" } else { "" };
    Entry {
        patches: vec![model.primary(1 << i | 1 << j).shown().rgb],
        name: format!("{} over {}{known}", number(j), number(i)),
        notes: vec![format!("{above} over {below}")],
    }
}
