//! Every action of the window: one table feeds the menus, the keys, the tooltips and the help.

mod action;
mod gestures;
mod table;

use egui::KeyboardShortcut;

pub use action::Action;
pub use gestures::GESTURES;
pub use table::TABLE;

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
    /// The action.
    pub action: Action,
    /// Its menu.
    pub menu: Menu,
    /// Whether a line stands above it.
    pub group: bool,
    /// Its label.
    pub label: &'static str,
    /// Its tooltip.
    pub tip: &'static str,
    /// Its key.
    pub key: Option<KeyboardShortcut>,
}

/// The entry of an action.
pub fn of(action: Action) -> &'static Info {
    // The table holds every action; a test says so. The first stands in where it did not.
    TABLE.iter().find(|i| i.action == action).unwrap_or(&TABLE[0])
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
