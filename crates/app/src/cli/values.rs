//! Values on the command line, checked as they are read.

use std::ops::RangeInclusive;
use std::path::Path;

use slipsheet_core::colour::Lab;
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::units::{Degrees, Dpi, Mm, SheetFormat, Size};
use slipsheet_document::layer::Slip;
use slipsheet_paper::booklet::MAX_PAGES;

/// Numbers with commas between.
fn numbers(text: &str) -> Result<Vec<f64>, String> {
    let number = |part: &str| {
        let part = part.trim();
        part.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| format!("“{part}” is not a number"))
    };
    text.split(',').map(number).collect()
}

/// One number; which ones are allowed is for the caller to say.
pub(super) fn number(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    number.ok_or_else(|| format!("“{text}” is not a number"))
}

/// A whole number in a range, as a parser for an option's value.
pub(super) fn whole<T: TryFrom<u64>>(
    range: RangeInclusive<u64>,
) -> impl Fn(&str) -> Result<T, String> + Clone + Send + Sync + 'static {
    move |text| {
        let within = text.trim().parse::<u64>().ok().filter(|v| range.contains(v));
        let refused = || format!("“{text}” is not a whole number from {} to {}", range.start(), range.end());
        within.and_then(|v| T::try_from(v).ok()).ok_or_else(refused)
    }
}

/// The most sheets that a booklet can have.
pub(super) const MOST_SHEETS: u64 = MAX_PAGES as u64 / 4;

/// A slip that a design takes, in mm.
pub(super) fn tolerance(text: &str) -> Result<f64, String> {
    match numbers(text).as_deref() {
        Ok([v]) if (0.0..=100.0).contains(v) => Ok(*v),
        _ => Err(format!("a slip is a number of mm from 0 to 100, not “{text}”")),
    }
}

/// `L,a,b`, or an sRGB colour as `#rrggbb`.
pub(super) fn lab(text: &str) -> Result<Lab, String> {
    if text.starts_with('#') {
        let wrong = || format!("an sRGB colour is # and six digits from 0 to f, not “{text}”");
        return Lab::from_hex(text).ok_or_else(wrong);
    }
    match numbers(text)?.as_slice() {
        [l, a, b] => Lab::new(*l, *a, *b).map_err(|e| e.to_string()),
        other => Err(format!("a colour is three numbers L,a,b with commas between, not {}", other.len())),
    }
}

/// A gray patch of known colour on a calibration sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gray {
    pub area: Rect,
    pub lab: Lab,
}

/// `X,Y,SIDE=L,a,b`, lengths in mm.
pub(super) fn gray(text: &str) -> Result<Gray, String> {
    let usage = || "a gray is X,Y,SIDE=L,a,b in mm, such as 40,240,8=52,0,0".to_owned();
    let (place, colour) = text.split_once('=').ok_or_else(usage)?;
    match numbers(place)?.as_slice() {
        [x, y, side] if *side > 0.0 => {
            let area = Rect { x: *x, y: *y, width: *side, height: *side };
            Ok(Gray { area, lab: lab(colour)? })
        }
        _ => Err(usage()),
    }
}

/// Coverages, one an ink.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cover(pub Vec<f64>);

pub(super) fn cover(text: &str) -> Result<Cover, String> {
    let all = numbers(text)?;
    match all.iter().find(|v| !(0.0..=1.0).contains(*v)) {
        Some(v) => Err(format!("a coverage must be from 0 to 1, not {v}")),
        None => Ok(Cover(all)),
    }
}

pub(super) fn dpi(text: &str) -> Result<Dpi, String> {
    let v = text.trim().parse::<f64>().map_err(|_e| format!("“{text}” is not a number"))?;
    Dpi::new(v).map_err(|e| e.to_string())
}

/// Refuses a file's name that promises another kind than is written.
pub(super) fn ends_in(path: &Path, what: &str, kind: &str) -> anyhow::Result<()> {
    let ending = kind.to_lowercase();
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case(&ending)) {
        return Ok(());
    }
    anyhow::bail!("{what} is a {kind}; end its name in .{ending}: {}", path.display())
}

/// A length in mm, not below 0.
pub(super) fn length(text: &str) -> Result<Mm, String> {
    match numbers(text).unwrap_or_default().as_slice() {
        [v] if (0.0..=1000.0).contains(v) => Ok(Mm::new(*v)),
        _ => Err(format!("a length is a number of mm from 0 to 1000, not “{text}”")),
    }
}

/// A share, 0 to 1.
pub(super) fn share(text: &str) -> Result<f64, String> {
    match numbers(text)?.as_slice() {
        [v] if (0.0..=1.0).contains(v) => Ok(*v),
        _ => Err(format!("a share is a number from 0 to 1, not “{text}”")),
    }
}

/// `X,Y` in mm.
pub(super) fn mm_point(text: &str) -> Result<Point, String> {
    match numbers(text)?.as_slice() {
        [x, y] => Ok(Point::new(*x, *y)),
        _ => Err(format!("a place is two numbers X,Y in mm, not “{text}”")),
    }
}

/// A layer, counted from 1 in printing order, and a slip for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LayerSlip {
    pub layer: usize,
    pub slip: Slip,
}

/// `N=dx,dy` or `N=dx,dy,deg`.
pub(super) fn layer_slip(text: &str) -> Result<LayerSlip, String> {
    let usage = || "a slip is N=dx,dy or N=dx,dy,degrees, in mm, such as 2=0.4,-0.2".to_owned();
    let (layer, shift) = text.split_once('=').ok_or_else(usage)?;
    let layer = layer.trim().parse::<usize>().ok().filter(|n| *n > 0).ok_or_else(usage)?;
    let (dx, dy, skew) = match numbers(shift)?.as_slice() {
        [dx, dy] => (*dx, *dy, 0.0),
        [dx, dy, skew] => (*dx, *dy, *skew),
        _ => return Err(usage()),
    };
    let mm = |v: f64| Mm::try_from(v).map_err(|e| e.to_string());
    let skew = Degrees::try_from(skew).map_err(|e| e.to_string())?;
    Ok(LayerSlip { layer, slip: Slip { dx: mm(dx)?, dy: mm(dy)?, skew } })
}

/// A named format, or width x height in mm.
pub(super) fn sheet(text: &str) -> Result<SheetFormat, String> {
    if let Some(format) = SheetFormat::NAMED.into_iter().find(|f| f.name().eq_ignore_ascii_case(text.trim()))
    {
        return Ok(format);
    }
    let names = SheetFormat::NAMED.map(SheetFormat::name).join(", ").to_lowercase();
    let usage = || format!("a sheet is one of {names}, or WxH in mm");
    let (w, h) = text.split_once(['x', '×']).ok_or_else(usage)?;
    let side = |s: &str| s.trim().parse::<f64>().map_err(|_e| usage());
    let (w, h) = (side(w)?, side(h)?);
    if !(20.0..=2000.0).contains(&w) || !(20.0..=2000.0).contains(&h) {
        return Err("a side of the sheet must be from 20 to 2000 mm".to_owned());
    }
    Ok(SheetFormat::Custom(Size::mm(w, h)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_take_negative_numbers_and_say_what_is_wrong() {
        assert_eq!(lab("55,-37, -50").unwrap(), Lab::new(55.0, -37.0, -50.0).unwrap());
        for (text, expected) in [
            ("-1,0,0", "Lab L must be from 0 to 150, not -1"),
            ("50,0", "three numbers L,a,b"),
            ("50,x,0", "“x” is not a number"),
            ("nan,0,0", "“nan” is not a number"),
            ("", "“” is not a number"),
        ] {
            assert!(lab(text).unwrap_err().contains(expected), "{text}");
        }
    }

    #[test]
    fn whole_numbers_outside_their_range_and_other_words_are_refused_alike() {
        assert_eq!(whole::<u32>(1..=400)(" 12 "), Ok(12));
        for text in ["NaN", "0", "401", "-4", "1.5", "10000000000000000000000", ""] {
            let wanted = format!("“{text}” is not a whole number from 1 to 400");
            assert_eq!(whole::<u32>(1..=400)(text), Err(wanted));
        }
    }

    #[test]
    fn slips_name_a_layer_from_one() {
        let read = layer_slip("2=0.4,-0.2,0.1").unwrap();
        assert_eq!(
            (read.layer, read.slip.dx.get(), read.slip.dy.get(), read.slip.skew.get()),
            (2, 0.4, -0.2, 0.1)
        );
        for text in ["0=1,1", "x=1,1", "1,1", "1=1", "1=1,1,1,1", "1=99999,0", "1=0,0,999"] {
            assert!(layer_slip(text).is_err(), "{text}");
        }
    }

    #[test]
    fn sheets_have_names_or_sides() {
        assert_eq!(sheet("letter").unwrap(), SheetFormat::Letter);
        assert_eq!(sheet("200x300.5").unwrap(), SheetFormat::Custom(Size::mm(200.0, 300.5)));
        assert!(sheet("foolscap").unwrap_err().contains("letter, legal"));
        assert!(sheet("1x1").unwrap_err().contains("20 to 2000"));
    }
}
