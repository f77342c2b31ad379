//! Slipsheet: plans small zines for a shared stencil duplicator.

fn main() -> anyhow::Result<()> {
    slipsheet::window::open(std::env::args_os().nth(1).map(Into::into))
}
