//! The words that the file carries, so that a proof found later says how it was made.

use super::Sheet;
use crate::words;

/// Keyword and text pairs; their order and wording depend on the project alone.
pub(super) fn chunks(sheet: &Sheet<'_>) -> Vec<(String, String)> {
    let printing = sheet.printing;
    let shown: Vec<_> = printing.sheet.on(sheet.face).filter(|(_, l)| l.visible).map(|(_, l)| l).collect();
    let list = |items: Vec<String>| if items.is_empty() { "none".to_owned() } else { items.join("; ") };
    let inks = shown.iter().map(|l| format!("{} ({})", l.ink.name, l.ink.standing_on(&printing.sheet.stock)));
    let order = shown.iter().enumerate().map(|(i, l)| format!("{} {}: {}", i + 1, l.name, l.ink.name));
    let slips = shown
        .iter()
        .filter(|_| !sheet.options.perfect)
        .filter_map(|l| Some(format!("{}: {}", l.name, words::slip(l.slip)?)));
    let page = sheet.place.map(|p| ("Page", p.page.to_string()));
    let all = [
        ("Title", printing.title.clone()),
        ("Inks", list(inks.collect())),
        ("Stock", words::stock(printing)),
        ("Order", list(order.collect())),
        ("Slips", list(slips.collect())),
        ("Sheet size", words::sheet(printing)),
        ("Face", sheet.face.name().to_owned()),
        ("Fold", words::fold(printing).to_owned()),
        ("Software", crate::pdf_parts::SOFTWARE.to_owned()),
    ];
    // Plain letters for the signs that many readers of these texts get wrong; a NUL would end the text early.
    let clean =
        |text: String| text.replace('×', "x").replace('°', " degrees").replace('−', "-").replace('\0', " ");
    all.into_iter().chain(page).map(|(k, t)| (k.to_owned(), clean(t))).collect()
}
