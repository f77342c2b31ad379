//! Design tokens: every colour, size and type style of the window. Nothing else builds a colour.
//!
//! Greys are neutral, and the canvas is the middle gray that prints are judged on (ISO 3664 asks for a
//! neutral surround), so that the window never tints what one sees.
#![expect(clippy::disallowed_methods, reason = "this is the one module that builds colours")]

use std::sync::Arc;

use egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Stroke, TextStyle, Theme, Vec2,
};
use slipsheet_core::colour::Lab;
use slipsheet_files::home;

/// Space between things that belong together.
pub const GAP: f32 = 6.0;
/// Space between groups.
pub const GROUP_GAP: f32 = 14.0;
/// Inner margin of panels.
pub const PANEL_MARGIN: i8 = 12;
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
    /// Rulers and the figures line.
    pub strip: Color32,
    /// Hairlines.
    pub line: Color32,
    /// Text.
    pub text: Color32,
    /// Text that matters less.
    pub faint: Color32,
    /// What is selected or pressed.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// Warnings.
    pub warning: Color32,
    /// Errors.
    pub error: Color32,
    /// What is well.
    pub good: Color32,
    /// Fold guides and page marks over the print.
    pub guide: Color32,
    /// A pale copy of the guide colour, under it.
    pub guide_halo: Color32,
    /// The bare sheets of the layer stack.
    pub leaf: Color32,
    /// Shadow under the sheet.
    pub shadow: Color32,
}

/// The palette of a theme.
pub fn palette(dark: bool) -> Palette {
    let guide = (Color32::from_rgb(0xb0, 0x28, 0x50), Color32::from_rgba_unmultiplied(255, 255, 255, 150));
    if dark {
        Palette {
            canvas: Color32::from_gray(0x55),
            panel: Color32::from_gray(0x29),
            strip: Color32::from_gray(0x20),
            line: Color32::from_gray(0x45),
            text: Color32::from_gray(0xe6),
            faint: Color32::from_gray(0xa6),
            accent: Color32::from_rgb(0x6f, 0xa3, 0xc8),
            on_accent: Color32::from_gray(0x14),
            warning: Color32::from_rgb(0xde, 0xae, 0x52),
            error: Color32::from_rgb(0xf0, 0x82, 0x72),
            good: Color32::from_rgb(0x7c, 0xbf, 0x8e),
            guide: guide.0,
            guide_halo: guide.1,
            leaf: Color32::from_rgba_unmultiplied(0xf2, 0xf2, 0xf2, 0xd8),
            shadow: Color32::from_black_alpha(120),
        }
    } else {
        Palette {
            canvas: Color32::from_gray(0xa8),
            panel: Color32::from_gray(0xf1),
            strip: Color32::from_gray(0xe5),
            line: Color32::from_gray(0xc6),
            text: Color32::from_gray(0x1e),
            faint: Color32::from_gray(0x5c),
            accent: Color32::from_rgb(0x2b, 0x62, 0x8c),
            on_accent: Color32::from_gray(0xff),
            warning: Color32::from_rgb(0x8a, 0x5a, 0x00),
            error: Color32::from_rgb(0xa8, 0x2a, 0x1c),
            good: Color32::from_rgb(0x2c, 0x76, 0x4a),
            guide: guide.0,
            guide_halo: guide.1,
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
    painter.rect(rect, 4.0, see_through(p.panel, 0.95), rim, egui::StrokeKind::Inside);
}

/// A small patch of a colour, with a rim that tells it from any ground.
pub fn chip(ui: &egui::Ui, rect: egui::Rect, colour: Lab) {
    let rim = egui::Stroke::new(1.0, of(ui).line);
    ui.painter().rect(rect, 2.0, shown(colour), rim, egui::StrokeKind::Inside);
}

/// The colour of an edge by its trap, as a share of what is plenty: red, amber, green.
pub fn trap_colour(share: f64) -> Color32 {
    let stops = [[0xd6, 0x2f, 0x2a], [0xf0, 0xa8, 0x2c], [0x4f, 0xa8, 0x5f]];
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
/// Pure shade, to be made see-through.
pub const SHADE: Color32 = Color32::BLACK;
/// The tint of a picture that is shown as it is.
pub const UNTINTED: Color32 = Color32::WHITE;

/// The semibold face, for headings.
pub fn strong() -> FontFamily {
    FontFamily::Name("strong".into())
}

/// A heading inside a panel.
pub fn heading(text: &str) -> egui::RichText {
    egui::RichText::new(text).font(FontId::new(14.0, strong()))
}

/// Fonts, type sizes and both themes.
pub fn install(ctx: &egui::Context) {
    ctx.set_fonts(fonts());
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Heading, FontId::new(17.0, strong())),
            (TextStyle::Body, FontId::proportional(13.5)),
            (TextStyle::Button, FontId::proportional(13.5)),
            (TextStyle::Small, FontId::proportional(11.5)),
            (TextStyle::Monospace, FontId::monospace(12.5)),
        ]
        .into();
        style.spacing.item_spacing = Vec2::new(GAP, GAP);
        style.spacing.button_padding = Vec2::new(9.0, 4.0);
        style.spacing.interact_size.y = 24.0;
        style.spacing.slider_width = 150.0;
        style.spacing.combo_width = 120.0;
        style.interaction.tooltip_delay = 0.35;
        // Words on chips and rows are dragged, not marked.
        style.interaction.selectable_labels = false;
        style.visuals.window_corner_radius = CornerRadius::same(6);
        style.visuals.menu_corner_radius = CornerRadius::same(5);
        for widget in [
            &mut style.visuals.widgets.inactive,
            &mut style.visuals.widgets.hovered,
            &mut style.visuals.widgets.active,
            &mut style.visuals.widgets.open,
        ] {
            widget.corner_radius = CornerRadius::same(4);
        }
    });
    for theme in [Theme::Light, Theme::Dark] {
        let p = palette(theme == Theme::Dark);
        ctx.style_mut_of(theme, |style| {
            let v = &mut style.visuals;
            v.panel_fill = p.panel;
            v.window_fill = p.panel;
            v.extreme_bg_color =
                if theme == Theme::Dark { Color32::from_gray(0x1b) } else { Color32::from_gray(0xff) };
            v.faint_bg_color = p.strip;
            v.override_text_color = None;
            v.selection.bg_fill = p.accent;
            v.selection.stroke = Stroke::new(1.0, p.on_accent);
            v.hyperlink_color = p.accent;
            v.warn_fg_color = p.warning;
            v.error_fg_color = p.error;
            v.window_stroke = Stroke::new(1.0, p.line);
            v.widgets.noninteractive.fg_stroke = Stroke::new(1.0, p.text);
            v.widgets.noninteractive.bg_stroke = Stroke::new(1.0, p.line);
            v.widgets.inactive.fg_stroke = Stroke::new(1.0, p.text);
            let lift =
                |dark: u8, light: u8| Color32::from_gray(if theme == Theme::Dark { dark } else { light });
            v.widgets.inactive.weak_bg_fill = lift(0x3a, 0xdf);
            v.widgets.inactive.bg_fill = lift(0x4a, 0xcf);
            v.widgets.hovered.weak_bg_fill = lift(0x46, 0xd2);
            v.widgets.hovered.bg_fill = lift(0x56, 0xc2);
            v.widgets.hovered.bg_stroke = Stroke::new(1.0, p.faint);
            v.widgets.active.weak_bg_fill = lift(0x52, 0xc4);
            v.widgets.open.weak_bg_fill = lift(0x3e, 0xd8);
        });
    }
}

/// The frame of dialogs.
pub fn dialog_frame(ctx: &egui::Context) -> egui::Frame {
    egui::Frame::window(&ctx.global_style()).inner_margin(18)
}

/// Follows the person's choice of theme.
pub fn follow(ctx: &egui::Context, theme: home::Theme) {
    ctx.set_theme(match theme {
        home::Theme::System => egui::ThemePreference::System,
        home::Theme::Light => egui::ThemePreference::Light,
        home::Theme::Dark => egui::ThemePreference::Dark,
    });
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let regular = include_bytes!("../../../../assets/fonts/PublicSans_400Regular.ttf");
    let semibold = include_bytes!("../../../../assets/fonts/PublicSans_600SemiBold.ttf");
    fonts.font_data.insert("regular".to_owned(), Arc::new(FontData::from_static(regular)));
    fonts.font_data.insert("semibold".to_owned(), Arc::new(FontData::from_static(semibold)));
    let fallback = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with =
        |first: &str| [first.to_owned()].into_iter().chain(fallback.iter().cloned()).collect::<Vec<_>>();
    fonts.families.insert(strong(), with("semibold"));
    fonts.families.insert(FontFamily::Proportional, with("regular"));
    fonts
}
