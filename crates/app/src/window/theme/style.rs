//! What the tokens make of the toolkit's own widgets: fonts, type sizes, and both themes.

use std::sync::Arc;

use egui::{
    Button, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, RichText, Stroke, TextStyle, Theme,
    Vec2,
};
use slipsheet_files::home;

use super::{BODY, CARD, CLOSE, CONTROL, FIGURE, GAP, LARGE, Palette, SMALL, palette};

/// The semibold face, for headings and names.
pub fn strong() -> FontFamily {
    FontFamily::Name("strong".into())
}

/// Says what something is and how it is called to those who cannot see it.
pub fn named(response: &egui::Response, role: egui::Role, name: impl ToString) {
    response.widget_info(|| egui::WidgetInfo::labeled(role, true, name.to_string()));
}

/// The font of captions.
pub fn small() -> FontId {
    FontId::proportional(SMALL)
}

/// The font of text.
pub fn body() -> FontId {
    FontId::proportional(BODY)
}

/// The font of the figure that a view is about.
pub fn large() -> FontId {
    FontId::new(LARGE, strong())
}

/// The font of captions that stand out.
pub fn strong_small() -> FontId {
    FontId::new(SMALL, strong())
}

/// The font of text that stands out.
pub fn strong_body() -> FontId {
    FontId::new(BODY, strong())
}

/// A heading inside a panel.
pub fn heading(text: &str) -> RichText {
    RichText::new(text).font(strong_body())
}

/// The one button of a place that is filled: what is done next.
pub fn filled<'a>(p: Palette, content: impl egui::IntoAtoms<'a>) -> Button<'a> {
    Button::new(content).fill(p.accent).stroke(Stroke::new(1.0, p.accent)).min_size(Vec2::new(0.0, 32.0))
}

/// Fonts, type sizes and both themes.
pub fn install(ctx: &egui::Context) {
    ctx.set_fonts(fonts());
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Heading, FontId::new(FIGURE, strong())),
            (TextStyle::Body, body()),
            (TextStyle::Button, body()),
            (TextStyle::Small, small()),
            (TextStyle::Monospace, FontId::monospace(SMALL)),
        ]
        .into();
        // Fields and the gap between them make rows of 32.
        style.spacing.item_spacing = Vec2::new(GAP, CLOSE);
        style.spacing.button_padding = Vec2::new(GAP, CLOSE);
        style.spacing.interact_size.y = 28.0;
        style.spacing.slider_width = 150.0;
        style.spacing.combo_width = 120.0;
        style.interaction.tooltip_delay = 0.35;
        // Words on chips and rows are dragged, not marked.
        style.interaction.selectable_labels = false;
        style.visuals.window_corner_radius = CornerRadius::same(CARD as u8);
        style.visuals.menu_corner_radius = CornerRadius::same(CONTROL as u8);
        for widget in [
            &mut style.visuals.widgets.noninteractive,
            &mut style.visuals.widgets.inactive,
            &mut style.visuals.widgets.hovered,
            &mut style.visuals.widgets.active,
            &mut style.visuals.widgets.open,
        ] {
            widget.corner_radius = CornerRadius::same(CONTROL as u8);
            widget.expansion = 0.0;
        }
    });
    for theme in [Theme::Light, Theme::Dark] {
        let p = palette(theme == Theme::Dark);
        ctx.style_mut_of(theme, |style| visuals(&mut style.visuals, p));
    }
}

/// The toolkit's own colours by ours.
fn visuals(v: &mut egui::Visuals, p: Palette) {
    v.panel_fill = p.panel;
    v.window_fill = p.panel;
    v.window_stroke = Stroke::new(1.0, p.line);
    v.extreme_bg_color = p.field;
    v.faint_bg_color = p.strip;
    v.override_text_color = None;
    v.weak_text_color = Some(p.faint);
    v.selection.bg_fill = p.selection;
    v.selection.stroke = Stroke::new(1.0, p.text);
    v.hyperlink_color = p.accent;
    v.warn_fg_color = p.warning;
    v.error_fg_color = p.error;

    let w = &mut v.widgets;
    w.noninteractive.fg_stroke = Stroke::new(1.0, p.text);
    w.noninteractive.bg_stroke = Stroke::new(1.0, p.line);
    // What can be typed in or clicked has an edge that tells it from its panel.
    let looks = [
        (&mut w.inactive, p.field, p.line, p.edge),
        (&mut w.hovered, p.strip, p.edge, p.text),
        (&mut w.active, p.selection, p.edge, p.accent),
        (&mut w.open, p.strip, p.line, p.text),
    ];
    for (widget, ground, part, edge) in looks {
        widget.weak_bg_fill = ground;
        widget.bg_fill = part;
        widget.bg_stroke = Stroke::new(1.0, edge);
        widget.fg_stroke = Stroke::new(1.0, p.text);
    }
}

/// The frame of dialogs.
pub fn dialog_frame(ctx: &egui::Context) -> egui::Frame {
    egui::Frame::window(&ctx.global_style()).inner_margin(16)
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
    let regular = include_bytes!("../../../../../assets/fonts/PublicSans_400Regular.ttf");
    let semibold = include_bytes!("../../../../../assets/fonts/PublicSans_600SemiBold.ttf");
    fonts.font_data.insert("regular".to_owned(), Arc::new(FontData::from_static(regular)));
    fonts.font_data.insert("semibold".to_owned(), Arc::new(FontData::from_static(semibold)));
    let fallback = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with =
        |first: &str| [first.to_owned()].into_iter().chain(fallback.iter().cloned()).collect::<Vec<_>>();
    fonts.families.insert(strong(), with("semibold"));
    fonts.families.insert(FontFamily::Proportional, with("regular"));
    fonts
}
