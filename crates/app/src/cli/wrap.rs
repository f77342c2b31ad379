//! `slipsheet wrap`: a sleeve, belly band, slipcase or folded cover for the finished piece, to be cut and scored.

use std::path::PathBuf;

use anyhow::{Context as _, bail};
use clap::{Args, ValueEnum};
use serde::Serialize;
use slipsheet_core::geometry::Rect;
use slipsheet_core::units::SheetFormat;
use slipsheet_document::edit::{self, Edit, ProjectEdit};
use slipsheet_document::project::Project;
use slipsheet_document::wrap::{MAX_LEAVES, Wrap, WrapKind, WrapOrder, WrapPlan};
use slipsheet_files::{store, wrap_pdf, wrap_svg};

use super::shelf::{ShelfArgs, stock};
use super::values::{number, sheet, whole};
use super::{Ending, Output};

/// Work out a wrap for the finished piece and write its sheet, to be cut and scored, as a PDF or an SVG
///
/// What is not given is taken from the project's own wrap, and without one from its sheet and stock. The
/// project itself is changed with --keep alone.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: slipsheet wrap walk.slipsheet --kind sleeve --allowance 0.5 --flap 12 -o sleeve.pdf"
)]
pub(super) struct WrapArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// PDF or SVG file to write, by its ending; one of that name is replaced [default: the figures alone]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// What it is
    #[arg(long, value_enum)]
    kind: Option<Kind>,
    /// Room between piece and wrap in mm, 0 to 10
    #[arg(long, value_name = "MM", value_parser = number)]
    allowance: Option<f64>,
    /// Width of the glue flap in mm, 3 to 60; of a cover, of the flaps that it turns in, 0 to 400
    #[arg(long, value_name = "MM", value_parser = number)]
    flap: Option<f64>,
    /// Height of a band in mm
    #[arg(long, value_name = "MM", value_parser = number)]
    height: Option<f64>,
    #[command(flatten)]
    shelf: ShelfArgs,
    /// Stock by its name on the shelf
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// Sheet: a name, or width x height in mm
    #[arg(long, value_name = "SHEET", value_parser = sheet)]
    sheet: Option<SheetFormat>,
    /// Landscape sheet
    #[arg(long, alias = "lying")]
    landscape: bool,
    /// Size of the finished piece in mm, in place of what fold and trim make
    #[arg(long, value_name = "WxH")]
    finished: Option<String>,
    /// Leaves of paper that lie on one another, in place of the fold's
    #[arg(long, value_name = "N", value_parser = whole::<u32>(1..=u64::from(MAX_LEAVES)))]
    leaves: Option<u32>,
    /// Measured thickness of one leaf of the piece in mm
    #[arg(long, value_name = "MM", value_parser = number)]
    caliper: Option<f64>,
    /// Measured thickness of the wrap's stock in mm
    #[arg(long, value_name = "MM", value_parser = number)]
    own_caliper: Option<f64>,
    /// Gap between two nets on a sheet in mm
    #[arg(long, value_name = "MM", value_parser = number)]
    gap: Option<f64>,
    /// Blank lead edge in mm, besides the press's margin
    #[arg(long, value_name = "MM", value_parser = number)]
    lead_free: Option<f64>,
    /// Keep it in the project, as a sheet of its own with its own layers
    #[arg(long)]
    keep: bool,
    /// Answer with the figures as JSON
    #[arg(long)]
    json: bool,
}

/// Kinds as scripts write them.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Kind {
    Sleeve,
    Band,
    Slipcase,
    Cover,
}

impl From<Kind> for WrapKind {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Sleeve => Self::Sleeve,
            Kind::Band => Self::BellyBand,
            Kind::Slipcase => Self::Slipcase,
            Kind::Cover => Self::FoldedCover,
        }
    }
}

/// A face as scripts read it, mm.
#[derive(Serialize)]
struct FaceLine {
    name: &'static str,
    x: f64,
    y: f64,
    width: f64,
    height: f64,
}

/// The figures as scripts read them, mm.
#[derive(Serialize)]
struct Figures {
    kind: &'static str,
    block: [f64; 3],
    leaves: u32,
    leaf_caliper: f64,
    own_caliper: f64,
    net: [f64; 2],
    faces: Vec<FaceLine>,
    sheet: [f64; 2],
    count: usize,
    layout: String,
    notes: Vec<String>,
}

impl Figures {
    fn of(plan: &WrapPlan) -> Self {
        let face = |(name, Rect { x, y, width, height }): (&'static str, Rect)| FaceLine {
            name,
            x,
            y,
            width,
            height,
        };
        Self {
            kind: plan.order.wrap.kind.id(),
            block: [plan.block.width, plan.block.height, plan.block.thickness()],
            leaves: plan.block.leaves,
            leaf_caliper: plan.block.caliper,
            own_caliper: plan.caliper,
            net: [plan.net.size.width.get(), plan.net.size.height.get()],
            faces: plan.net.faces.iter().map(|f| face((f.name.name(), f.rect))).collect(),
            sheet: [plan.sheet.width.get(), plan.sheet.height.get()],
            count: plan.count(),
            layout: plan.layout.words(),
            notes: plan.notes(),
        }
    }
}

pub(super) fn run(args: &WrapArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let (mut project, read) = store::load_marked(&args.project)?;
    let order = order(args, &project)?;
    let plan = project.plan_wrap(&order)?;
    if let Some(path) = &args.output {
        store::refuse_to_replace(path, Some(&args.project), &project)?;
        let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
        match ending.as_str() {
            "pdf" => wrap_pdf(&plan, &project.title, path)?,
            "svg" => wrap_svg(&plan, &project.title, path)?,
            _ => bail!("a wrap is a PDF or an SVG; end its name in .pdf or .svg: {}", path.display()),
        }
    }
    if args.keep {
        let edit = Edit::Project(ProjectEdit::GiveWrap(Box::new(order)));
        edit::apply(&mut project, edit, &args.shelf.known()?)?;
        store::save_over(&project, &args.project, &read)?;
    }
    if args.json {
        output.json(&Figures::of(&plan))?;
    } else {
        for line in plan.sentences().into_iter().chain(plan.notes()) {
            output.line(line)?;
        }
    }
    Ok(Ending::Fine)
}

/// What is asked for, over the project's own wrap.
fn order(args: &WrapArgs, project: &Project) -> anyhow::Result<WrapOrder> {
    let mut order = project.wrap_order().unwrap_or_else(|| WrapOrder {
        wrap: Wrap::default(),
        format: project.main.format,
        landscape: project.main.landscape,
        stock: project.main.stock.clone(),
    });
    let wrap = &mut order.wrap;
    if let Some(kind) = args.kind {
        wrap.kind = kind.into();
    }
    if let Some(flap) = args.flap {
        if wrap.kind == WrapKind::FoldedCover {
            wrap.flap_width = flap.try_into()?;
        } else {
            wrap.glue_flap = flap.try_into()?;
        }
    }
    if let Some(allowance) = args.allowance {
        wrap.allowance = allowance.try_into()?;
    }
    if let Some(height) = args.height {
        wrap.band_height = height.try_into()?;
    }
    if let Some(gap) = args.gap {
        wrap.gap = gap.try_into()?;
    }
    if let Some(lead_free) = args.lead_free {
        wrap.lead_free = lead_free.try_into()?;
    }
    if let Some(caliper) = args.caliper {
        wrap.inner_caliper = Some(caliper.try_into()?);
    }
    if let Some(caliper) = args.own_caliper {
        wrap.own_caliper = Some(caliper.try_into()?);
    }
    wrap.leaves = args.leaves.or(wrap.leaves);
    if let Some(text) = &args.finished {
        let usage = || format!("a finished size is WxH in mm, such as 70x108, not “{text}”");
        let (w, h) = text.split_once(['x', '×']).with_context(usage)?;
        let side = |s: &str| s.trim().parse::<f64>().ok().with_context(usage);
        wrap.finished = Some((side(w)?.try_into()?, side(h)?.try_into()?));
    }
    if let Some(format) = args.sheet {
        (order.format, order.landscape) = (format, args.landscape);
    }
    order.landscape |= args.landscape;
    if let Some(name) = &args.stock {
        order.stock = stock(&args.shelf.known()?, name)?;
    }
    Ok(order)
}
