//! The wrap's window: what it is, its sizes and its stock, with the net and its sheet drawn as they follow.

use egui::{ComboBox, Grid, RichText, Sense, Ui, Vec2};
use slipsheet_core::units::SheetFormat;
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_document::project::Project;
use slipsheet_document::wrap::{
    Allowance, BandHeight, Block, CaliperMm, FlapWidth, GlueFlap, LeadFree, MAX_LEAVES, SideMm, TrimGap,
    Wrap, WrapError, WrapKind, WrapOrder, WrapPlan,
};
use slipsheet_editor::{Request, Session, WrapExport};
use slipsheet_files::wrap_sheet::CAUTION;

use super::context::Context;
use super::dialogs::Next;
use super::number::drag;
use super::{UiCommand, pickers, theme, wrap_draw};

/// Width of the column of fields, in points.
const FIELDS: f32 = 366.0;

/// The window of the wrap: the order as it is typed.
pub(crate) struct WrapForm(WrapOrder);

impl WrapForm {
    /// The project's wrap, or a new one on the project's stock.
    pub fn new(project: &Project) -> Self {
        Self(project.wrap_order().unwrap_or_else(|| {
            let (wrap, stock) = (Wrap::default(), project.main.stock.clone());
            let fresh =
                |format, landscape| WrapOrder { wrap: wrap.clone(), format, landscape, stock: stock.clone() };
            // The project's own sheet where one fits there, else the next larger that the press takes.
            let own = fresh(project.main.format, false);
            let larger = [
                fresh(project.main.format, true),
                fresh(SheetFormat::Tabloid, false),
                fresh(SheetFormat::A3, false),
            ];
            let fits = |o: &&WrapOrder| project.plan_wrap(o).is_ok();
            std::iter::once(&own).chain(&larger).find(fits).unwrap_or(&own).clone()
        }))
    }

    /// The fields, with the net and its sheet as they follow.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        let order = &mut self.0;
        let room = ui.ctx().content_rect().size() - Vec2::new(90.0, 90.0);
        let size = Vec2::new(room.x.min(1010.0), room.y.min(680.0));
        ui.set_width(size.x);
        ui.heading("Wrap");
        ui.separator();
        let height = size.y - 110.0;
        let project = cx.session.project();
        let plan = project.plan_wrap(order);
        ui.horizontal_top(|ui| {
            ui.allocate_ui_with_layout(
                Vec2::new(FIELDS, height),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                        ui.set_width(FIELDS - 14.0);
                        let block = Block::of(&project.main.construction(), &order.wrap).ok();
                        fields_ui(ui, order, block);
                        ui.add_space(theme::GAP);
                        ui.label(theme::heading("Stock and sheet"));
                        let stocks = &cx.session.shelf().stocks;
                        if let Some(stock) = pickers::stock_picker(ui, &order.stock, &[], stocks) {
                            order.stock = stock;
                        }
                        sheet_fields_ui(ui, order);
                    });
                },
            );
            ui.add_space(theme::GAP);
            ui.allocate_ui_with_layout(
                Vec2::new(ui.available_width(), height),
                egui::Layout::top_down(egui::Align::Min),
                |ui| match &plan {
                    Ok(plan) => plan_ui(ui, plan, height),
                    Err(e) => {
                        let message = super::sentence(&e.to_string());
                        ui.add(egui::Label::new(RichText::new(message).color(theme::of(ui).error)).wrap());
                    }
                },
            );
        });
        ui.separator();
        self.buttons_ui(ui, cx.session, plan.is_ok(), out)
    }

    fn buttons_ui(&self, ui: &mut Ui, session: &Session, fits: bool, out: &mut Vec<UiCommand>) -> Next {
        let has = session.project().wrap.is_some();
        let mut next = Next::Stay;
        ui.horizontal(|ui| {
            if has
                && ui
                    .button("Remove the wrap")
                    .on_hover_text("Removes its layers as well. Undo brings it back.")
                    .clicked()
            {
                out.push(Edit::Project(ProjectEdit::RemoveWrap).into());
                next = Next::Close;
            }
            super::editions::trouble_ui(ui, session.notices());
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Close").clicked() {
                    next = Next::Close;
                }
                let give = if has { "Update the wrap's sheet" } else { "Add a sheet for the wrap" };
                let tip =
                    "The wrap gets a sheet and layers of its own. Switch to it at the top of the window.";
                if ui.add_enabled(fits, egui::Button::new(give)).on_hover_text(tip).clicked() {
                    out.push(Request::GiveWrap(Box::new(self.0.clone())).into());
                    next = Next::Close;
                }
                let tip = "The sheet at true size, to be cut and scored";
                let export = ui.add_enabled(fits, egui::Button::new("Export PDF or SVG…"));
                if export.on_hover_text(tip).clicked() {
                    out.push(Request::export(WrapExport(self.0.clone())).into());
                }
            });
        });
        next
    }
}

/// The choice between the two sheets of a project that has a wrap, for the menu bar.
pub(super) fn which_sheet_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let project = cx.session.project();
    let Some(wrap) = &project.wrap else { return };
    ui.separator();
    let tip = super::menu::hint(ui, super::actions::of(super::actions::Action::OtherSheet));
    for (sheet, name) in [(project.main.id, "Booklet"), (wrap.sheet.id, "Wrap")] {
        let text = RichText::new(name).family(theme::strong());
        let tab = egui::Button::selectable(cx.session.sheet().id == sheet, text);
        if ui.add(tab.min_size(Vec2::new(72.0, 24.0))).on_hover_text(&tip).clicked() {
            out.push(Request::SwitchTo(sheet).into());
        }
    }
}

/// The net over the art, or why there is none any more.
pub(super) fn net_over_sheet(
    cx: &Context<'_>,
    painter: &egui::Painter,
    screen: impl Fn(slipsheet_core::geometry::Point) -> egui::Pos2,
    palette: theme::Palette,
) {
    if !cx.session.shows_wrap() {
        return;
    }
    match planned_wrap(cx) {
        Some(Ok(plan)) => {
            let back = cx.showing.face == slipsheet_paper::fold::Face::Back;
            let lines = if back { plan.lines_from_behind() } else { plan.lines() };
            wrap_draw::lines(painter, screen, &lines, wrap_draw::Pens { over_art: true, palette });
        }
        Some(Err(e)) => {
            let at = painter.clip_rect().center_top() + Vec2::new(0.0, theme::RULER + 14.0);
            let font = theme::body();
            painter.text(at, egui::Align2::CENTER_TOP, super::sentence(&e.to_string()), font, palette.text);
        }
        None => {}
    }
}

/// The project's wrap worked out, or why it cannot be made any more.
fn planned_wrap(cx: &Context<'_>) -> Option<Result<WrapPlan, WrapError>> {
    let project = cx.session.project();
    project.wrap_order().map(|order| project.plan_wrap(&order))
}

/// In the inspector, in place of the fold, while the wrap's sheet is open.
pub(super) fn wrap_fields(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    ui.label(theme::heading("Wrap"));
    let message = match planned_wrap(cx) {
        Some(Ok(plan)) => plan.sentences().into_iter().chain(plan.notes()).collect::<Vec<_>>().join("\n"),
        Some(Err(e)) => super::sentence(&e.to_string()),
        None => return,
    };
    ui.add(egui::Label::new(RichText::new(message).small().color(theme::of(ui).faint)).wrap());
    if ui.button("Change the wrap…").clicked() {
        out.push(super::actions::Action::Wrap.into());
    }
}

/// A number with its label, in a row of a grid.
fn number(ui: &mut Ui, name: &str, value: &mut f64, range: std::ops::RangeInclusive<f64>, digits: usize) {
    let label = ui.label(name);
    let speed = 0.5 * 0.1_f64.powi(digits as i32);
    let field = drag(value).range(range).suffix(" mm").max_decimals(digits).speed(speed * 2.0);
    ui.add(field).labelled_by(label.id);
    ui.end_row();
}

fn fields_ui(ui: &mut Ui, order: &mut WrapOrder, block: Option<Block>) {
    let wrap = &mut order.wrap;
    ui.horizontal_wrapped(|ui| {
        for kind in WrapKind::ALL {
            ui.selectable_value(&mut wrap.kind, kind, kind.name());
        }
    });
    ui.add_space(theme::GAP);
    Grid::new("wrap sizes").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
        let mut v = wrap.allowance.get();
        number(ui, "Allowance", &mut v, 0.0..=10.0, 1);
        wrap.allowance = Allowance::new(v);
        if wrap.kind.is_glued() {
            let mut v = wrap.glue_flap.get();
            number(ui, "Glue flap", &mut v, 3.0..=60.0, 1);
            wrap.glue_flap = GlueFlap::new(v);
        } else {
            let mut v = wrap.flap_width.get();
            number(ui, "Turned-in flaps", &mut v, 0.0..=400.0, 1);
            wrap.flap_width = FlapWidth::new(v);
        }
        if wrap.kind == WrapKind::BellyBand {
            let mut v = wrap.band_height.get();
            number(ui, "Height of the band", &mut v, 10.0..=1000.0, 1);
            wrap.band_height = BandHeight::new(v);
        }
    });
    ui.add_space(theme::GAP);
    ui.label(theme::heading("Finished piece"));
    let Some(block) = block else { return };
    Grid::new("wrap piece").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
        // What is typed takes the place of what the fold says.
        let (mut w, mut h) = (block.width, block.height);
        number(ui, "Page width", &mut w, 10.0..=1000.0, 1);
        number(ui, "Page height", &mut h, 10.0..=1000.0, 1);
        if (w, h) != (block.width, block.height) {
            wrap.finished = Some((SideMm::new(w), SideMm::new(h)));
        }
        let label = ui.label("Leaves");
        let mut leaves = block.leaves;
        ui.add(drag(&mut leaves).range(1..=MAX_LEAVES)).labelled_by(label.id);
        ui.end_row();
        if leaves != block.leaves {
            wrap.leaves = Some(leaves);
        }
        let mut caliper = block.caliper;
        number(ui, "Caliper of a leaf", &mut caliper, 0.02..=5.0, 3);
        if (caliper - block.caliper).abs() > 1e-9 {
            wrap.inner_caliper = Some(CaliperMm::new(caliper));
        }
        let known =
            wrap.own_caliper.map_or_else(|| slipsheet_core::paper::caliper(&order.stock), CaliperMm::get);
        let mut own = known;
        number(ui, "Caliper of the wrap", &mut own, 0.02..=5.0, 3);
        if (own - known).abs() > 1e-9 {
            wrap.own_caliper = Some(CaliperMm::new(own));
        }
    });
    let given = wrap.finished.is_some() || wrap.leaves.is_some();
    let given = given || wrap.inner_caliper.is_some() || wrap.own_caliper.is_some();
    let reset = ui.add_enabled(given, egui::Button::new("Use the booklet's values").small());
    if reset.on_hover_text("Size and leaves from the fold and the trim, calipers estimated").clicked() {
        (wrap.finished, wrap.leaves, wrap.inner_caliper, wrap.own_caliper) = (None, None, None, None);
    }
}

fn sheet_fields_ui(ui: &mut Ui, order: &mut WrapOrder) {
    Grid::new("wrap sheet").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
        let label = ui.label("Sheet");
        let combo =
            ComboBox::from_id_salt("wrap format").selected_text(order.format.name()).show_ui(ui, |ui| {
                for named in SheetFormat::NAMED {
                    ui.selectable_value(&mut order.format, named, named.name());
                }
            });
        combo.response.labelled_by(label.id);
        ui.end_row();
        // A format with an orientation of its own decides that itself.
        let decided = matches!(order.format, SheetFormat::Custom(_) | SheetFormat::Ledger);
        let size = order.size();
        let mut landscape = size.width.get() > size.height.get();
        let label = ui.label("Orientation");
        let tick =
            ui.add_enabled(!decided, egui::Checkbox::new(&mut landscape, "Landscape")).labelled_by(label.id);
        if tick.on_disabled_hover_text("The format decides this").changed() {
            order.landscape = landscape;
        }
        ui.end_row();
        let mut v = order.wrap.gap.get();
        number(ui, "Gap between nets", &mut v, 0.0..=50.0, 1);
        order.wrap.gap = TrimGap::new(v);
        let mut v = order.wrap.lead_free.get();
        number(ui, "Blank lead edge", &mut v, 0.0..=50.0, 1);
        order.wrap.lead_free = LeadFree::new(v);
    });
}

/// The net above; its sheet below, beside the figures.
fn plan_ui(ui: &mut Ui, plan: &WrapPlan, height: f32) {
    let p = theme::of(ui);
    let above = Vec2::new(ui.available_width(), (height - theme::GAP) * 0.46);
    let (rect, response) = ui.allocate_exact_size(above, Sense::hover());
    let label = format!("Net of the {}", plan.order.wrap.kind.name().to_lowercase());
    theme::named(&response, egui::Role::Image, &label);
    wrap_draw::net_ui(&ui.painter_at(rect), rect, plan, p);
    ui.horizontal_top(|ui| {
        let side = (height - above.y - 2.0 * theme::GAP).min(ui.available_width() * 0.46);
        let (rect, response) = ui.allocate_exact_size(Vec2::new(side, side), Sense::hover());
        let label = format!("{} on a sheet", plan.count());
        theme::named(&response, egui::Role::Image, &label);
        wrap_draw::sheet_ui(&ui.painter_at(rect), rect, plan, p);
        ui.vertical(|ui| {
            egui::ScrollArea::vertical().id_salt("wrap figures").max_height(side).show(ui, |ui| {
                for line in plan.sentences() {
                    ui.add(egui::Label::new(RichText::new(line).small()).wrap());
                }
                for line in plan.notes().iter().map(String::as_str).chain([CAUTION]) {
                    ui.add(egui::Label::new(RichText::new(line).small().color(p.faint)).wrap());
                }
            });
        });
    });
}
