//! The ticket as a PDF of two pages: what to print, and what to do then.

use slipsheet_core::dummy::Texture;
use slipsheet_core::fold::Face;
use slipsheet_core::project::{Images, Project};
use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_core::words::count;

use super::drawing;
use super::{FIELDS, Ticket, TicketError, TicketPass};
use crate::proof::words::number;
use crate::typeset::{DARK, Document, RULE, SOFT, Style};

const MARGIN: f64 = 16.0;
const TITLE: Style = Style::new(true, 20.0, DARK);
const KIND: Style = Style::new(false, 9.0, SOFT);
const HEAD: Style = Style::new(true, 10.0, DARK);
const BODY: Style = Style::new(false, 9.0, DARK);
const STRONG: Style = Style::new(true, 9.0, DARK);
const NOTE: Style = Style::new(false, 8.0, SOFT);

/// The ticket of a project as a PDF.
///
/// # Errors
/// When the program's own fonts are damaged.
pub fn document(ticket: &Ticket, project: &Project, images: &Images) -> Result<Vec<u8>, TicketError> {
    let page = paper(project.sheet);
    let mut d = Document::new(page).map_err(|_font| TicketError::Font)?;
    let room = page.width.get() - 2.0 * MARGIN;
    d.add_page();
    let mut y = heading(&mut d, ticket, room, "Job ticket");
    y = pictures(&mut d, project, images, y, room);
    y = facts(&mut d, ticket, y, room);
    let mut on_second = false;
    let foot = page.height.get() - MARGIN;
    // A booklet has many passes, and which page lies where comes before them.
    if let Some(booklet) = &project.booklet {
        y = head(&mut d, "Pages on the sheets, lead edge up", y, room);
        let next = |d: &mut Document| {
            d.add_page();
            heading(d, ticket, room, "Pages on the sheets, continued") + 4.0
        };
        y = drawing::imposition(&mut d, project, booklet, [MARGIN, y, room, foot], next);
    }
    y = head(&mut d, "Inks by pass", y, room);
    for pass in &ticket.passes {
        let height = 8.0 + 10.5 * pass.inks.len() as f64;
        if y + height > foot && (!on_second || project.booklet.is_some()) {
            d.add_page();
            on_second = true;
            y = heading(&mut d, ticket, room, "Inks by pass, continued");
        }
        y = inks(&mut d, pass, y, room);
    }
    // What follows wants most of a page.
    let full = project.booklet.is_some() && y > page.height.get() * 0.3;
    if !on_second || full {
        d.add_page();
        y = heading(&mut d, ticket, room, "Register, finishing, booking");
    }
    y = register(&mut d, ticket, y, room);
    y = finishing(&mut d, ticket, &project.on_sheet(0), y, room);
    y = cautions(&mut d, ticket, y, room);
    fields(&mut d, y, room);
    d.finish(&format!("{}: job ticket", ticket.title)).map_err(|_font| TicketError::Font)
}

/// Letter paper where the sheet is of that family, A4 otherwise.
fn paper(sheet: SheetFormat) -> Size {
    let name = sheet.name().to_lowercase();
    let inches = ["letter", "legal", "tabloid", "ledger"].iter().any(|n| name.contains(n));
    if inches { Size::mm(215.9, 279.4) } else { Size::mm(210.0, 297.0) }
}

fn heading(d: &mut Document, t: &Ticket, room: f64, kind: &str) -> f64 {
    d.line((MARGIN, MARGIN + 2.0), room, kind, KIND);
    let lines = d.wrapped(&t.title, room, TITLE);
    let mut y = MARGIN + 10.0;
    for line in lines.iter().take(2) {
        d.line((MARGIN, y), room, line, TITLE);
        y += 8.5;
    }
    d.rule((MARGIN, y - 4.5), (MARGIN + room, y - 4.5), 0.4, DARK, &[]);
    y + 1.5
}

fn head(d: &mut Document, text: &str, y: f64, room: f64) -> f64 {
    let y = y + 4.0;
    d.line((MARGIN, y), room, text, HEAD);
    d.rule((MARGIN, y + 1.6), (MARGIN + room, y + 1.6), 0.15, RULE, &[]);
    y + 6.5
}

/// The flat print of each face, and the folded thing.
fn pictures(d: &mut Document, project: &Project, images: &Images, y: f64, room: f64) -> f64 {
    let sheet = project.sheet_size();
    let dpi = 110.0;
    let front = drawing::print(project, images, Face::Front, dpi);
    let back = project.two_sided().then(|| drawing::print(project, images, Face::Back, dpi)).flatten();
    let front_picture = front.as_ref().and_then(Texture::picture);
    let several = project.sheets() > 1;
    let name = if several { "Sheet 1, front, lead edge up" } else { "Front, lead edge up" };
    let mut boxes = vec![front_picture.map(|p| (name, p))];
    if let Some(back) = back.as_ref().and_then(Texture::picture) {
        let name = if several {
            "Its back, turned about its upright axis"
        } else {
            "Back, turned over about its upright axis"
        };
        boxes.push(Some((name, back)));
    }
    let folded = drawing::folded(project, images, dpi, (700, 700));
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
        let name = if project.booklet.is_some() { "Bound" } else { "Folded" };
        d.line((x, y + side + 2.0), column, name, NOTE);
        lowest = lowest.max(side - 2.0);
    }
    y + lowest + 13.0
}

fn facts(d: &mut Document, t: &Ticket, y: f64, room: f64) -> f64 {
    let booked = if t.booked_minutes > 0.0 {
        format!("{} min; {} min are booked", number(t.slot_minutes, 0), number(t.booked_minutes, 0))
    } else {
        format!("{} min with the waits between passes", number(t.slot_minutes, 0))
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
    if !t.turning.is_empty() {
        d.line((MARGIN, at), label, "Turning", NOTE);
        d.line((MARGIN + label, at), room - label, &t.turning, BODY);
        at += 5.2;
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

fn inks(d: &mut Document, pass: &TicketPass, y: f64, room: f64) -> f64 {
    let wait = if pass.wait_before_minutes > 0.0 {
        format!("after {} min to dry", number(pass.wait_before_minutes, 0))
    } else {
        String::new()
    };
    d.line((MARGIN, y), room, &format!("Pass {}, {}", pass.pass, pass.side()), STRONG);
    d.line_right((MARGIN + room, y), 60.0, &wait, NOTE);
    let mut at = y + 3.0;
    for ink in &pass.inks {
        d.patch([MARGIN, at, 9.0, 8.0], ink.swatch);
        d.frame([MARGIN, at, 9.0, 8.0], 0.1, RULE);
        let (x, wide) = (MARGIN + 12.0, room * 0.5 - 12.0);
        d.line((x, at + 3.2), wide, &format!("{}  {}", ink.order, ink.ink), STRONG);
        d.line((x, at + 7.2), wide, &format!("drum {}, layer “{}”", ink.drum, ink.layer), NOTE);
        let (x, wide) = (MARGIN + room * 0.5, room * 0.5);
        d.line(
            (x, at + 3.2),
            wide,
            &format!("{}; covers {} %", ink.reading, number(ink.coverage_percent, 1)),
            BODY,
        );
        d.line((x, at + 7.2), wide, &format!("plate {}", ink.plate), NOTE);
        at += 10.5;
    }
    at + 4.5
}

fn register(d: &mut Document, t: &Ticket, y: f64, room: f64) -> f64 {
    let mut at = head(d, "Register", y, room);
    at = d.block((MARGIN, at), room, &t.slip(), BODY);
    // The page has room for so many; the text has all.
    const MOST: usize = 4;
    for line in t.register.iter().take(MOST) {
        at = d.block((MARGIN, at), room, line, BODY);
    }
    let more = t.register.len().saturating_sub(MOST);
    if more > 0 {
        at = d.block((MARGIN, at), room, &format!("{more} more stand in ticket.txt."), BODY);
    }
    at
}

fn finishing(d: &mut Document, t: &Ticket, project: &Project, y: f64, room: f64) -> f64 {
    let mut at = head(d, "After printing", y, room);
    let (column, gap) = (room * 0.48, room * 0.04);
    let area = [MARGIN, at - 2.0, column, 64.0];
    let height = drawing::flat(d, project, Face::Front, area);
    drawing::pages(d, project, Face::Front, area);
    drawing::key(d, project, (MARGIN, at + height + 2.5));
    let x = MARGIN + column + gap;
    let mut right = at + 1.0;
    if t.finishing.is_empty() {
        right = d.block((x, right), column, "Nothing: the sheet stays flat.", BODY);
    }
    for (i, step) in t.finishing.iter().enumerate() {
        d.line((x, right), 6.0, &format!("{}.", i + 1), BODY);
        right = d.block((x + 6.0, right), column - 6.0, step, BODY) + 0.4;
    }
    let packing = if t.packing.is_empty() { "as agreed" } else { &t.packing };
    right = d.block((x, right + 1.5), column, &format!("Packing: {packing}"), BODY);
    at = (at + height + 6.0).max(right);
    at
}

fn cautions(d: &mut Document, t: &Ticket, y: f64, room: f64) -> f64 {
    let mut at = head(d, "Mind", y, room);
    for caution in &t.cautions {
        at = d.block((MARGIN, at), room, caution, NOTE) + 0.5;
    }
    at
}

fn fields(d: &mut Document, y: f64, room: f64) {
    let mut at = head(d, "To fill in", y, room) + 1.0;
    let column = (room - 8.0) / 2.0;
    for pair in FIELDS.chunks(2) {
        for ((name, label), x) in pair.iter().zip([MARGIN, MARGIN + column + 8.0]) {
            d.line((x, at), column, label, NOTE);
            d.field([x, at + 1.2, column, 6.4], name, label);
            d.rule((x, at + 7.8), (x + column, at + 7.8), 0.2, SOFT, &[]);
        }
        at += 13.0;
    }
}
