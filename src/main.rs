//! The `warpwise` command. Everything it does is in the library.

fn main() -> std::process::ExitCode {
    warpwise::cli::run()
}
