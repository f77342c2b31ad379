//! Opening the window on a desktop.

use std::path::PathBuf;

use slipsheet_files::home::Home;

use super::{DesktopDialogs, SlipsheetApp, icon};

/// The person's folder, as the environment has it.
pub fn home() -> Home {
    match std::env::var_os("SLIPSHEET_HOME") {
        Some(dir) => Home::new(PathBuf::from(dir)),
        None => {
            let dirs = directories::ProjectDirs::from("", "", "slipsheet");
            Home::new(dirs.map_or_else(|| PathBuf::from(".slipsheet"), |d| d.config_dir().to_owned()))
        }
    }
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// One sentence when no window can be had.
pub fn open(project: Option<PathBuf>) -> anyhow::Result<()> {
    let home = home();
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_app_id("slipsheet")
            .with_title("Slipsheet")
            .with_icon(icon::icon())
            .with_inner_size([1360.0, 860.0])
            .with_min_inner_size([1000.0, 640.0]),
        renderer: eframe::Renderer::Glow,
        persist_window: false,
        ..Default::default()
    };
    let app = move |cc: &eframe::CreationContext<'_>| -> Result<Box<dyn eframe::App>, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Box::new(SlipsheetApp::new(&cc.egui_ctx, home, Box::new(DesktopDialogs::default()), project)?))
    };
    eframe::run_native("slipsheet", options, Box::new(app)).map_err(|e| {
        // The library names its own source file, which is of no use to anyone who reads this.
        let why = e.to_string();
        let why = why.rsplit_once(": ").map_or(why.as_str(), |(_, why)| why).trim_end_matches(')');
        anyhow::anyhow!("no window can be opened ({why}); start Slipsheet on a desktop, or use its commands without a window: slipsheet --help")
    })
}
