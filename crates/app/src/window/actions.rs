//! Every action of the window: one table feeds the menus, the keys, the tooltips and the help.

mod gestures;
mod table;

use egui::KeyboardShortcut;

use super::Showing;
use super::context::Context;

pub use gestures::GESTURES;
pub(in crate::window) use table::MENUS;
pub use table::{Action, TABLE};

/// A key as menus and help show it: signs as they stand on the key.
pub fn shortcut(ctx: &egui::Context, key: &KeyboardShortcut) -> String {
    let mut message = ctx.format_shortcut(key);
    for (name, sign) in [("OpenBracket", "["), ("CloseBracket", "]"), ("Plus", "+"), ("Minus", "-")] {
        message = message.replace(name, sign);
    }
    message
}

/// Which menu an action stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Menu {
    /// Files.
    File,
    /// History and layers.
    Edit,
    /// What is shown.
    View,
    /// Keys and cautions.
    Help,
}

/// What the table says of an action.
#[derive(Debug, Clone, Copy)]
pub struct Info {
    /// What it is.
    pub action: Action,
    /// Its name in menus.
    pub label: &'static str,
    /// What its tooltip says.
    pub tip: &'static str,
    /// The key that asks for it.
    pub key: Option<KeyboardShortcut>,
    when: Option<fn(&Context<'_>) -> bool>,
    ticked: Option<fn(&Showing) -> bool>,
}

impl Info {
    /// Whether it switches something that is on; none where it switches nothing.
    pub(in crate::window) fn ticked(&self, showing: &Showing) -> Option<bool> {
        self.ticked.map(|ticked| ticked(showing))
    }
}

impl Context<'_> {
    /// Whether an action can be done now.
    pub fn enabled(&self, action: Action) -> bool {
        of(action).when.is_none_or(|when| when(self))
    }
}

/// The entry of an action.
pub fn of(action: Action) -> &'static Info {
    &TABLE[action as usize]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_actions_share_a_key() {
        for (i, a) in TABLE.iter().enumerate() {
            for b in &TABLE[..i] {
                assert!(a.key.is_none() || a.key != b.key, "{} and {} share a key", a.label, b.label);
            }
        }
    }

    #[test]
    fn labels_are_unique_and_tips_say_more() {
        for (i, a) in TABLE.iter().enumerate() {
            assert!(TABLE[..i].iter().all(|b| b.label != a.label && b.action != a.action));
            assert!(!a.tip.is_empty() && a.tip != a.label, "{}", a.label);
        }
    }
}
