//! Design tokens: every colour, size and type style of the window. Nothing else builds a colour.
//!
//! Greys are neutral, and the canvas is the middle gray that prints are judged on (ISO 3664 asks for a
//! neutral surround), so that the window never tints what one sees. The one accent, plum, is for what can be acted
//! on; what would sell, what would not, and warnings have colours of their own and always a shape besides.
#![expect(clippy::disallowed_methods, reason = "this is the one module that builds colours")]

mod style;
#[cfg(test)]
mod tests;

use egui::Color32;
use slipsheet_core::colour::Lab;

pub use style::{
    body, dialog_frame, filled, follow, heading, install, large, named, small, strong, strong_body,
    strong_small,
};

/// Sizes of type, of which there are four: captions, text, figures, and the one figure that a view is about.
pub const SMALL: f32 = 12.0;
/// Text.
pub const BODY: f32 = 13.5;
/// Figures, and the names of dialogs.
pub const FIGURE: f32 = 18.0;
/// The figure that a view is about.
pub const LARGE: f32 = 28.0;
/// The height of a line of captions.
pub const SMALL_LINE: f32 = 16.0;
/// The height of a line of figures.
pub const FIGURE_LINE: f32 = 24.0;

/// Space between a thing and its own parts.
pub const CLOSE: f32 = 4.0;
/// Space between things that belong together.
pub const GAP: f32 = 8.0;
/// Space between groups.
pub const GROUP_GAP: f32 = 16.0;
/// Inner margin of panels.
pub const PANEL_MARGIN: i8 = 12;
/// Rounding of swatches and of what is as small.
pub const SWATCH: f32 = 3.0;
/// Rounding of what one clicks or types in.
pub const CONTROL: f32 = 6.0;
/// Rounding of what holds other things.
pub const CARD: f32 = 10.0;
/// Height of the strip of views.
pub const STRIP_HEIGHT: f32 = 52.0;
/// Thickness of the line under the view that is open.
pub const UNDERLINE: f32 = 3.0;
/// Thickness of a bar of progress.
pub const BAR: f32 = 4.0;
/// Width of the layer stack.
pub const STACK_WIDTH: f32 = 264.0;
/// Width of the inspector.
pub const INSPECTOR_WIDTH: f32 = 292.0;
/// Room that a floating scroll bar needs beside fields.
pub const SCROLL_ROOM: f32 = 10.0;
/// Thickness of the rulers.
pub const RULER: f32 = 22.0;

/// Colours that egui's own visuals do not name.
#[derive(Debug, Clone, Copy)]
pub struct Palette {
    /// Around the sheet.
    pub canvas: Color32,
    /// Panels.
    pub panel: Color32,
    /// The strip of views, rulers, and rows that are told apart.
    pub strip: Color32,
    /// What one types in.
    pub field: Color32,
    /// Hairlines.
    pub line: Color32,
    /// The edge of what one clicks or types in.
    pub edge: Color32,
    /// Text.
    pub text: Color32,
    /// Text that matters less.
    pub faint: Color32,
    /// What can be acted on.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// The ground of what is selected; text keeps its colour on it.
    pub selection: Color32,
    /// Warnings, with a triangle.
    pub warning: Color32,
    /// What would not sell and what failed, with a cross.
    pub error: Color32,
    /// What would sell and what is well, with a tick.
    pub good: Color32,
    /// Fold guides and page marks over the print.
    pub guide: Color32,
    /// White under the guides, so that they show over any ink.
    pub guide_halo: Color32,
    /// The bare sheets of the layer stack.
    pub leaf: Color32,
    /// Shadow under the sheet.
    pub shadow: Color32,
}

/// An opaque colour from its six hexadecimal digits.
const fn hex(rgb: u32) -> Color32 {
    let [_, r, g, b] = rgb.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

/// The plum that guides are drawn in: paper is as pale under both themes.
const PLUM: Color32 = hex(0x6e2c5c);

/// The palette of a theme.
pub fn palette(dark: bool) -> Palette {
    let guide_halo = Color32::from_rgba_unmultiplied(255, 255, 255, 210);
    if dark {
        Palette {
            canvas: hex(0x555555),
            panel: hex(0x292929),
            strip: hex(0x202020),
            field: hex(0x1b1b1b),
            line: hex(0x454545),
            edge: hex(0x858585),
            text: hex(0xe6e6e6),
            faint: hex(0xadadad),
            accent: hex(0xd79bc8),
            on_accent: hex(0x1a1018),
            selection: hex(0x4a3345),
            warning: hex(0xdcc05a),
            error: hex(0xf79a6b),
            good: hex(0x79c3e0),
            guide: PLUM,
            guide_halo,
            leaf: Color32::from_rgba_unmultiplied(0xf2, 0xf2, 0xf2, 0xd8),
            shadow: Color32::from_black_alpha(120),
        }
    } else {
        Palette {
            canvas: hex(0xa8a8a8),
            panel: hex(0xf1f1f1),
            strip: hex(0xe5e5e5),
            field: hex(0xffffff),
            line: hex(0xc6c6c6),
            edge: hex(0x7d7d7d),
            text: hex(0x1e1e1e),
            faint: hex(0x565656),
            accent: PLUM,
            on_accent: hex(0xffffff),
            selection: hex(0xead9e4),
            warning: hex(0x855700),
            error: hex(0xa83a0c),
            good: hex(0x1b6480),
            guide: PLUM,
            guide_halo,
            leaf: Color32::from_rgba_unmultiplied(0xff, 0xff, 0xff, 0xe6),
            shadow: Color32::from_black_alpha(70),
        }
    }
}

/// The palette in force.
pub fn of(ui: &egui::Ui) -> Palette {
    palette(ui.visuals().dark_mode)
}

/// A colour as the screen can show it.
pub fn shown(lab: Lab) -> Color32 {
    let [r, g, b] = lab.xyz().shown().rgb;
    Color32::from_rgb(r, g, b)
}

/// An sRGB triple.
pub fn rgb([r, g, b]: [u8; 3]) -> Color32 {
    Color32::from_rgb(r, g, b)
}

/// A pixel of a live picture.
pub fn pixel([r, g, b, a]: [u8; 4]) -> Color32 {
    // Pixels are either opaque or not there, so both readings of alpha agree.
    Color32::from_rgba_premultiplied(r, g, b, a)
}

/// A colour with an opacity of 0..=1.
pub fn see_through(colour: Color32, opacity: f32) -> Color32 {
    Color32::from_rgba_unmultiplied(
        colour.r(),
        colour.g(),
        colour.b(),
        (opacity.clamp(0.0, 1.0) * 255.0) as u8,
    )
}

/// The ground of words that lie over the sheet.
pub fn note_ground(painter: &egui::Painter, rect: egui::Rect, p: Palette) {
    let rim = egui::Stroke::new(1.0, p.line);
    painter.rect(rect, CONTROL, see_through(p.panel, 0.95), rim, egui::StrokeKind::Inside);
}

/// A small patch of a colour, with a rim that tells it from any ground.
pub fn chip(ui: &egui::Ui, rect: egui::Rect, colour: Lab) {
    let rim = egui::Stroke::new(1.0, of(ui).line);
    ui.painter().rect(rect, SWATCH, shown(colour), rim, egui::StrokeKind::Inside);
}

/// The colour of an edge by its trap, as a share of what is plenty: from what would not sell to what would.
pub fn trap_colour(share: f64) -> Color32 {
    let stops = [[0xc4, 0x45, 0x10], [0xdc, 0xc0, 0x5a], [0x1b, 0x64, 0x80]];
    between(&stops, share)
}

/// The colour of a change on a slip map, as a share of the strongest: pale to deep.
pub fn change_colour(share: f64) -> [u8; 4] {
    let stops = [[0xf4, 0xf1, 0xe8], [0xd3, 0xb6, 0x78], [0x7d, 0x8f, 0x5e], [0x1f, 0x3d, 0x47]];
    between(&stops, share).to_array()
}

/// A colour between stops at even distances.
fn between(stops: &[[u8; 3]], share: f64) -> Color32 {
    let at = share.clamp(0.0, 1.0) * stops.len().saturating_sub(1) as f64;
    let low = (at as usize).min(stops.len().saturating_sub(2));
    let (Some(a), Some(b)) = (stops.get(low), stops.get(low + 1)) else { return SHADE };
    let mix = |i: usize| (f64::from(a[i]) + (f64::from(b[i]) - f64::from(a[i])) * (at - low as f64)) as u8;
    Color32::from_rgb(mix(0), mix(1), mix(2))
}

/// Black or white, whichever reads better on a colour.
pub fn reads_on(lab: Lab) -> Color32 {
    if lab.l() > 58.0 { Color32::from_gray(0x10) } else { Color32::from_gray(0xfa) }
}

/// Lines of the red, green and blue channel, readable on both themes.
pub const CHANNELS: [[u8; 3]; 3] = [[0xd0, 0x50, 0x48], [0x4c, 0x96, 0x50], [0x4c, 0x7c, 0xd8]];
/// What a brush has painted white, takes out, and keeps.
pub const PAINTED: [[u8; 3]; 3] = [[0xff, 0xff, 0xff], [0xd0, 0x78, 0x20], [0x28, 0x8c, 0x78]];
/// Pure shade, to be made see-through.
pub const SHADE: Color32 = Color32::BLACK;
/// The tint of a picture that is shown as it is.
pub const UNTINTED: Color32 = Color32::WHITE;
