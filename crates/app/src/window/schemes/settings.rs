//! Name, grid and binding of a scheme that is being drawn.

use egui::{ComboBox, Grid, RichText, TextEdit, Ui};
use slipsheet_core::units::Size;
use slipsheet_paper::fold::{Binding, Face, Lanes, MOST_LINES, PageOrder};

use super::super::theme;
use super::editor::Editor;
use crate::window::number::drag;

/// How the sizes of columns and rows are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum SizesShown {
    /// As parts of the sheet.
    #[default]
    Parts,
    /// In mm on the sheet in use.
    Mm,
    /// What columns are shorter by, in mm.
    Shorter,
}

pub(super) fn settings_ui(ui: &mut Ui, editor: &mut Editor, sheet: Size) {
    let scheme = &mut editor.plan.scheme;
    let mut both = scheme.two_sided();
    let field = TextEdit::singleline(&mut scheme.name).desired_width(f32::INFINITY).hint_text("My fold");
    ui.add(field).widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Name of the fold"));
    let field = TextEdit::multiline(&mut scheme.summary).desired_rows(2).desired_width(f32::INFINITY);
    let field = ui.add(field.hint_text("How it is made, in a sentence"));
    theme::named(&field, egui::Role::TextInput, "How it is made");
    Grid::new("fold settings").num_columns(2).show(ui, |ui| {
        let label = ui.label("Becomes");
        let combo =
            ComboBox::from_id_salt("binding").width(130.0).selected_text(binding_name(scheme.binding));
        let combo = combo.show_ui(ui, |ui| {
            for binding in [Binding::Leaflet, Binding::Section, Binding::Ring] {
                ui.selectable_value(&mut scheme.binding, binding, binding_name(binding))
                    .on_hover_text(binding_tip(binding));
            }
        });
        combo.response.labelled_by(label.id).on_hover_text(binding_tip(scheme.binding));
        ui.end_row();
        if scheme.binding == Binding::Leaflet {
            let label = ui.label("Read");
            let mut order = scheme.order.unwrap_or(PageOrder::Opening);
            let combo = ComboBox::from_id_salt("order").width(130.0).selected_text(order_name(order));
            let combo = combo.show_ui(ui, |ui| {
                for each in PageOrder::ALL {
                    ui.selectable_value(&mut order, each, order_name(each));
                }
            });
            combo.response.labelled_by(label.id);
            scheme.order = Some(order);
            ui.end_row();
        }
        let label = ui.label("Sheet");
        ui.checkbox(&mut scheme.landscape, "Landscape").labelled_by(label.id);
        ui.end_row();
        let label = ui.label("Pages on");
        ui.checkbox(&mut both, "both faces").labelled_by(label.id);
        ui.end_row();
    });
    editor.plan.print_back(both);
    if editor.panel.is_some_and(|(face, _)| face == Face::Back) && !editor.plan.scheme.two_sided() {
        editor.panel = None;
    }
    ui.add_space(theme::GAP);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        ui.selectable_value(&mut editor.sizes, SizesShown::Parts, "Parts");
        ui.selectable_value(&mut editor.sizes, SizesShown::Mm, "mm")
            .on_hover_text("On the sheet of this project; what is left over goes to the last one");
        ui.selectable_value(&mut editor.sizes, SizesShown::Shorter, "Shorter by").on_hover_text(
            "What folds inside other panels must be a little shorter (1 to 2 mm, common practice)",
        );
    });
    lanes_ui(ui, editor, Lanes::Columns, sheet);
    if editor.sizes != SizesShown::Shorter {
        lanes_ui(ui, editor, Lanes::Rows, sheet);
    }
}

fn binding_name(binding: Binding) -> &'static str {
    match binding {
        Binding::Leaflet => "Leaflet",
        Binding::Section => "Section",
        Binding::Ring => "Slit booklet",
    }
}

fn binding_tip(binding: Binding) -> &'static str {
    match binding {
        Binding::Leaflet => "Opens by unfolding, last crease first",
        Binding::Section => "Leaves about a spine; the other folds are trimmed open",
        Binding::Ring => "Two rows, slit along the middle, pushed together and gathered into a booklet",
    }
}

fn order_name(order: PageOrder) -> &'static str {
    match order {
        PageOrder::Opening => "as it opens",
        PageOrder::Along => "face by face",
        PageOrder::Inside => "cover, inside, rest",
    }
}

/// Sizes of columns or rows, with buttons that add and remove one.
fn lanes_ui(ui: &mut Ui, editor: &mut Editor, lanes: Lanes, sheet: Size) {
    let (name, many) = if lanes == Lanes::Columns { ("Column", "Columns") } else { ("Row", "Rows") };
    let count = editor.plan.sizes(lanes).len();
    let (mut add, mut remove) = (None, None);
    ui.horizontal(|ui| {
        ui.label(RichText::new(many).family(theme::strong()));
        ui.label(RichText::new(format!("{count}")).color(theme::of(ui).faint));
    });
    for i in 0..count {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            let label = ui.label(format!("{name} {}", i + 1));
            let field = match editor.sizes {
                SizesShown::Parts => parts_field(ui, editor, (lanes, i)),
                SizesShown::Mm => mm_field(ui, editor, (lanes, i), sheet),
                SizesShown::Shorter => shorter_field(ui, editor, i),
            };
            field.labelled_by(label.id);
            let button = |text: &str| egui::Button::new(text).min_size(egui::vec2(24.0, 24.0));
            let plus = ui.add_enabled(count < MOST_LINES, button("+"));
            theme::named(&plus, egui::Role::Button, format!("Add after {name} {}", i + 1));
            if plus.on_hover_text("Add one after it").clicked() {
                add = Some(i);
            }
            let minus = ui.add_enabled(count > 1, button("−"));
            theme::named(&minus, egui::Role::Button, format!("Remove {name} {}", i + 1));
            if minus.on_hover_text("Remove it and the line beyond it").clicked() {
                remove = Some(i);
            }
        });
    }
    if let Some(i) = add {
        editor.plan.add_lane(lanes, i);
    }
    if let Some(i) = remove {
        editor.plan.remove_lane(lanes, i);
    }
}

fn parts_field(ui: &mut Ui, editor: &mut Editor, (lanes, i): (Lanes, usize)) -> egui::Response {
    let mut size = editor.plan.sizes(lanes).get(i).copied().unwrap_or(1.0);
    let field = ui.add(drag(&mut size).range(0.05..=1000.0).speed(0.02).max_decimals(3));
    if field.changed()
        && let Some(slot) = editor.plan.sizes_mut(lanes).get_mut(i)
    {
        *slot = size;
    }
    field
}

/// A size in mm. The sheet stays as large as it is, so another column or row gives way.
fn mm_field(ui: &mut Ui, editor: &mut Editor, (lanes, i): (Lanes, usize), sheet: Size) -> egui::Response {
    let sheet = editor.plan.scheme.oriented(sheet);
    let whole = if lanes == Lanes::Columns { sheet.width.get() } else { sheet.height.get() };
    let total: f64 = editor.plan.sizes(lanes).iter().sum();
    let sizes: Vec<f64> = editor.plan.sizes(lanes).iter().map(|s| s / total * whole).collect();
    let count = sizes.len();
    let other = if i + 1 == count { 0 } else { count - 1 };
    let mut mm = sizes.get(i).copied().unwrap_or(0.0);
    let both = mm + sizes.get(other).copied().unwrap_or(0.0);
    let most = if count > 1 { (both - 1.0).max(1.0) } else { mm };
    let field = drag(&mut mm).range(1.0..=most).speed(0.1).suffix(" mm").max_decimals(2);
    let field = ui.add_enabled(count > 1, field);
    if field.changed() {
        for (k, slot) in editor.plan.sizes_mut(lanes).iter_mut().enumerate() {
            *slot = match k {
                k if k == i => mm,
                k if k == other => both - mm,
                k => sizes.get(k).copied().unwrap_or(1.0),
            };
        }
    }
    field
}

fn shorter_field(ui: &mut Ui, editor: &mut Editor, i: usize) -> egui::Response {
    let scheme = &mut editor.plan.scheme;
    let mut mm = scheme.shorter.get(i).copied().unwrap_or(0.0);
    let field = ui.add(drag(&mut mm).range(0.0..=20.0).speed(0.05).suffix(" mm").max_decimals(2));
    if field.changed() {
        scheme.shorter.resize(scheme.columns.len(), 0.0);
        if let Some(slot) = scheme.shorter.get_mut(i) {
            *slot = mm;
        }
        if scheme.shorter.iter().all(|mm| *mm <= 0.0) {
            scheme.shorter.clear();
        }
    }
    field
}
