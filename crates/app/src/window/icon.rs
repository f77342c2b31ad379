//! The program's icon, drawn when it starts: three sheets of ink that slipped a little over one another.

/// Side of the icon in pixels.
const SIDE: usize = 128;

/// Left, top of each sheet, and its ink as sRGB.
const SHEETS: [(usize, usize, [u16; 3]); 3] =
    [(14, 34, [64, 172, 164]), (34, 16, [236, 118, 92]), (46, 46, [48, 58, 112])];

/// The icon as RGBA.
pub(super) fn icon() -> egui::IconData {
    let mut rgba = Vec::with_capacity(SIDE * SIDE * 4);
    for y in 0..SIDE {
        for x in 0..SIDE {
            let over = |(left, top, _): &&(usize, usize, [u16; 3])| {
                (*left..left + 66).contains(&x) && (*top..top + 66).contains(&y)
            };
            let inks: Vec<[u16; 3]> = SHEETS.iter().filter(over).map(|s| s.2).collect();
            // Ink over ink multiplies, as everywhere in the program's simplest model.
            let mix = |c: usize| inks.iter().fold(255, |v, ink| v * ink[c] / 255) as u8;
            rgba.extend([mix(0), mix(1), mix(2), if inks.is_empty() { 0 } else { 255 }]);
        }
    }
    egui::IconData { rgba, width: SIDE as u32, height: SIDE as u32 }
}
