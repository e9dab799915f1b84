//! stub
pub fn run(
    _p: tapemark_core::plan::Plan,
    _path: Option<std::path::PathBuf>,
    _m: crate::files::Memory,
) -> Result<std::process::ExitCode, tapemark_core::plan::PlanError> {
    todo!()
}
