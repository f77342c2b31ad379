//! The ticket as a PDF, most often of two pages: what to print, and what to do then.

use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::dummy::Texture;
use slipsheet_render::images::Images;

use super::drawing;
use super::{FIELDS, Ticket, TicketError, TicketInk, TicketPass};
use crate::lettering::Style;
use crate::typeset::{DARK, Document, RULE, SOFT};
use crate::words::number;

const MARGIN: f64 = 16.0;
/// Between columns.
const GAP: f64 = 8.0;
/// Height of an ink whose setting is one line.
const INK: f64 = 10.5;
/// A pass wider than this has its settings in a column of their own.
const WIDE: f64 = 120.0;
const TITLE: Style = Style::semi_bold(20.0, DARK);
const KIND: Style = Style::regular(9.0, SOFT);
const HEAD: Style = Style::semi_bold(10.0, DARK);
const BODY: Style = Style::regular(9.0, DARK);
const STRONG: Style = Style::semi_bold(9.0, DARK);
const NOTE: Style = Style::regular(8.0, SOFT);

/// The ticket of a project as a PDF.
///
/// # Errors
/// When the program's own fonts are damaged.
pub fn document(ticket: &Ticket, printing: &Printing, images: &Images) -> Result<Vec<u8>, TicketError> {
    let page = paper(printing.sheet.format);
    let d = Document::new(page)?;
    let (room, foot) = (page.width.get() - 2.0 * MARGIN, page.height.get() - MARGIN);
    let mut flow = Flow { d, ticket, room, foot, y: 0.0 };
    flow.next_page("Job ticket");
    flow.y = pictures(&mut flow.d, printing, images, flow.y, room);
    flow.y = facts(&mut flow.d, ticket, flow.y, room);
    if !ticket.series.is_empty() {
        flow.head("Editions", 8.0);
        for line in &ticket.series {
            flow.block(line, BODY);
        }
    }
    // A booklet has many passes, and where each page is comes before them.
    if let Some(booklet) = &printing.sheet.booklet {
        flow.head("Pages on the sheets, lead edge up", 40.0);
        let next = |d: &mut Document| {
            d.add_page();
            heading(d, ticket, room, CONTINUED) + 4.0
        };
        flow.y = drawing::imposition(&mut flow.d, printing, booklet, [MARGIN, flow.y, room, foot], next);
    }
    flow.head("Inks by pass", 30.0);
    flow.block(&ticket.instruction, BODY);
    flow.y += 1.0;
    // Many passes stand side by side, in reading order.
    let columns = if ticket.passes.len() > 6 { 2 } else { 1 };
    let column = (room - GAP * (columns - 1) as f64) / columns as f64;
    for row in ticket.passes.chunks(columns) {
        let inked = |pass: &TicketPass| pass.inks.iter().map(|i| ink_height(&flow.d, i, column)).sum::<f64>();
        let most = row.iter().map(inked).fold(0.0, f64::max);
        flow.need(6.0 + most);
        let mut lowest = flow.y;
        for (i, pass) in row.iter().enumerate() {
            let x = MARGIN + (column + GAP) * i as f64;
            lowest = lowest.max(inks(&mut flow.d, pass, (x, flow.y), column));
        }
        flow.y = lowest;
    }
    flow.register();
    flow.finishing(&printing.number(0));
    flow.cautions();
    flow.fields();
    Ok(flow.d.finish(&format!("{}: job ticket", ticket.title))?)
}

/// What pages after the first are called.
const CONTINUED: &str = "Job ticket, continued";

/// The pages, filled from top to foot.
struct Flow<'a> {
    d: Document,
    ticket: &'a Ticket,
    room: f64,
    foot: f64,
    y: f64,
}

impl Flow<'_> {
    fn next_page(&mut self, kind: &str) {
        self.d.add_page();
        self.y = heading(&mut self.d, self.ticket, self.room, kind);
    }

    /// Goes on with another page where so many mm are not left on this one.
    fn need(&mut self, height: f64) {
        if self.y + height > self.foot {
            self.next_page(CONTINUED);
        }
    }

    /// A section's name, on the page that also has room for the beginning of the section.
    fn head(&mut self, text: &str, beginning: f64) {
        self.need(10.5 + beginning);
        let y = self.y + 4.0;
        self.d.line((MARGIN, y), self.room, text, HEAD);
        self.d.rule((MARGIN, y + 1.6), (MARGIN + self.room, y + 1.6), 0.15, RULE, &[]);
        self.y = y + 6.5;
    }

    fn block(&mut self, text: &str, style: Style) {
        self.need(self.d.height(text, self.room, style));
        self.y = self.d.block((MARGIN, self.y), self.room, text, style);
    }

    fn register(&mut self) {
        self.head("Registration", 12.0);
        self.block(&self.ticket.slip(), BODY);
        for line in &self.ticket.register {
            self.block(line, BODY);
        }
    }

    fn finishing(&mut self, printing: &Printing) {
        let t = self.ticket;
        let (column, gap) = (self.room * 0.48, self.room * 0.04);
        let inner = column - 6.0;
        let listed: f64 = t.finishing.iter().map(|s| self.d.height(s, inner, BODY) + 0.4).sum();
        self.head("After printing", listed.max(72.0) + 10.0);
        let top = self.y;
        let area = [MARGIN, top - 2.0, column, 64.0];
        let height = drawing::flat(&mut self.d, printing, Face::Front, area);
        drawing::pages(&mut self.d, printing, Face::Front, area);
        drawing::key(&mut self.d, printing, (MARGIN, top + height + 2.5));
        let mut left = top + height + 8.0;
        if !t.fold_lines.is_empty() {
            left = self.d.block((MARGIN, left), column, &format!("Fold lines: {}.", t.fold_lines), NOTE);
        }
        let x = MARGIN + column + gap;
        let mut right = top + 1.0;
        if t.finishing.is_empty() {
            right = self.d.block((x, right), column, "Nothing: the sheet stays flat.", BODY);
        }
        for (i, step) in t.finishing.iter().enumerate() {
            self.d.line((x, right), 6.0, &format!("{}.", i + 1), BODY);
            right = self.d.block((x + 6.0, right), inner, step, BODY) + 0.4;
        }
        let packing = if t.packing.is_empty() { "as agreed" } else { &t.packing };
        right = self.d.block((x, right + 1.5), column, &format!("Packing: {packing}"), BODY);
        self.y = left.max(right) + 1.0;
        self.step_drawings();
    }

    /// The folding steps that have a drawing, side by side under the numbers of the list.
    fn step_drawings(&mut self) {
        const COLUMNS: usize = 6;
        let cell = self.room / COLUMNS as f64;
        for row in self.ticket.drawn.chunks(COLUMNS) {
            let tall = drawing::step_height(row.iter().map(|(_, step)| step)) * (cell - 6.0);
            self.need(tall + 7.0);
            for (i, (number, step)) in row.iter().enumerate() {
                let x = MARGIN + cell * i as f64;
                self.d.line((x, self.y + 3.0), cell, &format!("{number}."), NOTE);
                drawing::step(&mut self.d, step, [x + 4.0, self.y + 0.6, cell - 6.0]);
            }
            self.y += tall + 5.0;
        }
    }

    fn cautions(&mut self) {
        self.head("Cautions", 10.0);
        for caution in &self.ticket.cautions {
            self.block(caution, NOTE);
            self.y += 0.5;
        }
    }

    fn fields(&mut self) {
        let row = 13.0;
        self.head("To fill in", row * FIELDS.len().div_ceil(2) as f64 - 3.0);
        self.y += 1.0;
        let column = (self.room - 8.0) / 2.0;
        for pair in FIELDS.chunks(2) {
            for ((name, label), x) in pair.iter().zip([MARGIN, MARGIN + column + 8.0]) {
                self.d.line((x, self.y), column, label, NOTE);
                self.d.field([x, self.y + 1.2, column, 6.4], name, label);
                self.d.rule((x, self.y + 7.8), (x + column, self.y + 7.8), 0.2, SOFT, &[]);
            }
            self.y += row;
        }
    }
}

/// Letter paper where the sheet is of that family, A4 otherwise.
fn paper(sheet: SheetFormat) -> Size {
    let name = sheet.name().to_lowercase();
    let inches = ["letter", "legal", "tabloid", "ledger"].iter().any(|n| name.contains(n));
    if inches { Size::mm(215.9, 279.4) } else { Size::mm(210.0, 297.0) }
}

fn heading(d: &mut Document, t: &Ticket, room: f64, kind: &str) -> f64 {
    d.line((MARGIN, MARGIN + 2.0), room, kind, KIND);
    let mut y = MARGIN + 10.0;
    for line in d.lettering.wrapped_to(2, &t.title, room, TITLE) {
        d.line((MARGIN, y), room, &line, TITLE);
        y += 8.5;
    }
    d.rule((MARGIN, y - 4.5), (MARGIN + room, y - 4.5), 0.4, DARK, &[]);
    y + 1.5
}

/// The flat print of each face, and the folded thing.
fn pictures(d: &mut Document, printing: &Printing, images: &Images, y: f64, room: f64) -> f64 {
    let sheet = printing.sheet.size();
    let dpi = 110.0;
    let front = drawing::print(printing, images, Face::Front, dpi);
    let back =
        printing.sheet.two_sided().then(|| drawing::print(printing, images, Face::Back, dpi)).flatten();
    let front_picture = front.as_ref().and_then(Texture::picture);
    let several = printing.sheet.printed_sheets() > 1;
    let name = if several { "Sheet 1, front, lead edge up" } else { "Front, lead edge up" };
    let mut boxes = vec![front_picture.map(|p| (name, p))];
    if let Some(back) = back.as_ref().and_then(Texture::picture) {
        let name = if several {
            "Its back, turned about its vertical axis"
        } else {
            "Back, turned over about its vertical axis"
        };
        boxes.push(Some((name, back)));
    }
    let folded = drawing::folded(printing, images, dpi, (700, 700));
    let count = boxes.len() + usize::from(folded.is_some());
    let gap = 6.0;
    let height = 62.0;
    let column = (room - gap * (count as f64 - 1.0)) / count as f64;
    let mut x = MARGIN;
    let mut lowest: f64 = 0.0;
    for (name, picture) in boxes.into_iter().flatten() {
        let scale = (column / sheet.width.get()).min(height / sheet.height.get());
        let (w, h) = (sheet.width.get() * scale, sheet.height.get() * scale);
        d.picture([x, y, w, h], picture);
        d.frame([x, y, w, h], 0.1, RULE);
        d.line((x, y + h + 4.0), column, name, NOTE);
        lowest = lowest.max(h);
        x += column + gap;
    }
    if let Some(picture) = folded {
        let side = column.min(height);
        d.picture([x, y - 2.0, side, side], &picture);
        let name = if printing.sheet.booklet.is_some() { "Binding" } else { "Folded" };
        d.line((x, y + side + 2.0), column, name, NOTE);
        lowest = lowest.max(side - 2.0);
    }
    y + lowest + 13.0
}

fn facts(d: &mut Document, t: &Ticket, y: f64, room: f64) -> f64 {
    let booked = if t.booked_minutes > 0.0 {
        format!("about {} min; {} min are booked", number(t.slot_minutes, 0), number(t.booked_minutes, 0))
    } else {
        format!("about {} min with drying between passes", number(t.slot_minutes, 0))
    };
    let left = [
        ("Sheet", t.sheet.clone()),
        ("Stock", t.stock.clone()),
        ("Grain", t.grain.clone()),
        ("Fold", t.fold.clone()),
    ];
    let right = [
        ("Copies", format!("{}", t.copies)),
        ("Overs", format!("{}", t.overs)),
        ("To print", to_print(t)),
        ("Time", booked),
    ];
    let column = (room - 8.0) / 2.0;
    let label = 17.0;
    let mut at = y;
    for (l, r) in left.iter().zip(&right) {
        for ((name, value), x) in [(l, MARGIN), (r, MARGIN + column + 8.0)] {
            d.line((x, at), label, name, NOTE);
            d.line((x + label, at), column - label, value, if *name == "Copies" { STRONG } else { BODY });
        }
        at += 5.2;
    }
    let wrap = t.wrap.as_ref().map(super::TicketWrap::words).unwrap_or_default();
    let edition = t.edition.as_deref().unwrap_or_default();
    for (name, value) in [("Edition", edition), ("Turning", &t.turning), ("Wrap", &wrap)] {
        if !value.is_empty() {
            d.line((MARGIN, at), label, name, NOTE);
            at = d.block((MARGIN + label, at), room - label, value, BODY).max(at + 5.2);
        }
    }
    at
}

fn to_print(t: &Ticket) -> String {
    let passes = count(t.passes.len(), "pass");
    match t.sheets_a_copy {
        1 => format!("{}, {passes}", count(t.sheets, "sheet")),
        n => format!("{} of each of {n} sheets, {passes}", t.sheets / n as u32),
    }
}

/// What an ink's setting is written as beside its swatch, and in which room.
fn setting(ink: &TicketInk, room: f64) -> (String, f64, Style) {
    if room > WIDE {
        (ink.setting.clone(), room * 0.5, BODY)
    } else {
        (format!("drum {}; {}", ink.drum, ink.setting), room - 12.0, NOTE)
    }
}

/// Height of an ink whose setting may take more than one line.
fn ink_height(d: &Document, ink: &TicketInk, room: f64) -> f64 {
    let (text, width, style) = setting(ink, room);
    INK + (d.height(&text, width, style) - d.height("drum", width, style)).max(0.0)
}

/// A pass with its inks; gives where it ends.
fn inks(d: &mut Document, pass: &TicketPass, (x, y): (f64, f64), room: f64) -> f64 {
    let wait = if pass.wait_before_minutes > 0.0 {
        format!("after {} min to dry", number(pass.wait_before_minutes, 0))
    } else {
        String::new()
    };
    d.line((x, y), room, &format!("Pass {}, {}", pass.pass, pass.side()), STRONG);
    d.line_right((x + room, y), 60.0, &wait, NOTE);
    let mut at = y + 3.0;
    for ink in &pass.inks {
        d.patch([x, at, 9.0, 8.0], ink.swatch);
        d.frame([x, at, 9.0, 8.0], 0.1, RULE);
        let (name, drum) = (format!("{}  {}", ink.order, ink.ink), format!("drum {}", ink.drum));
        let plate = format!("plate {}, covers {} %", ink.plate, number(ink.coverage_percent, 1));
        let left = x + 12.0;
        let (words, width, style) = setting(ink, room);
        let height = ink_height(d, ink, room);
        if room > WIDE {
            let half = room * 0.5;
            d.line((left, at + 3.2), half - 12.0, &name, STRONG);
            d.line((left, at + 7.2), half - 12.0, &format!("{drum}, layer “{}”", ink.layer), NOTE);
            d.block((x + half, at + 3.2), width, &words, style);
            d.line((x + half, at + height - INK + 7.2), half, &plate, NOTE);
        } else {
            d.line((left, at + 2.6), room - 12.0, &name, STRONG);
            d.block((left, at + 5.8), width, &words, style);
            d.line((left, at + height - INK + 8.8), room - 12.0, &plate, NOTE);
        }
        at += height;
    }
    at + 4.5
}
