//! The `elbowroom` program.

mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
