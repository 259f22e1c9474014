//! `plan`: a chain for every gap, so that all can be built together.

use super::{
    args::{Common, Format, PlanArgs},
    bridge::on_threads,
    failure::Failure,
    interrupt::{self, Searching},
    load, make_up,
    output::{Output, exists},
    progress::Progress,
};
use elbowroom::{
    bridge::Wishes,
    plan::{PlanWishes, plan},
    report::{Outcome, PlanReport, json, text},
};

/// Plans the machine of a layout.
pub(crate) fn run(args: &PlanArgs, common: &Common, output: &Output) -> Result<Outcome, Failure> {
    let (catalog, layout, _) = load::layout_and_text(&args.layout, common)?;
    let stock = args.stock.as_deref().map(|path| load::stock(path, &catalog)).transpose()?;
    if layout.gaps().is_empty() {
        return Err(Failure::Message(format!(
            "{} lists no gaps, so there is nothing to plan; add `gaps` to the file",
            load::name(&args.layout)
        )));
    }
    if let Some(path) = args.list.as_deref().filter(|path| !common.force && path.exists()) {
        // Said before a search that may take long.
        return Err(exists(path));
    }
    let progress = Progress::new(1, 1, output.is_quiet());
    let update = |now: &_| progress.update(now);
    let wishes = PlanWishes {
        search: Wishes {
            max_parts: args.max_parts,
            clearance_mm: args.clearance,
            flow_l_min: args.flow,
            closure_budget: args.budget,
            cancel: Some(interrupt::flag()),
            progress: Some(&update),
            ..Wishes::default()
        },
        make_up: make_up::wishes(&args.make_up, args.clearance),
    };
    let searching = Searching::begin(output.is_quiet());
    let found = on_threads(args.threads, || plan(&catalog, &layout, &wishes))??;
    drop(searching);
    let Some(report) = PlanReport::new(&catalog, &layout, &wishes, &found) else {
        // Plan, layout and catalog are those of this function.
        return Err(Failure::Message("the plan names parts that the catalog does not have".to_owned()));
    };
    let report = match &stock {
        Some(stock) => report.with_stock(stock),
        None => report,
    };
    if let Some(path) = &args.list {
        output.beside(path, &report.items_csv(), common.force)?;
    }
    output.results(&match common.format {
        Format::Text if output.is_quiet() => text::plan(&report),
        Format::Text => format!("{}\n{}", text::plan(&report), text::cautions()),
        Format::Json => json::text(&json::PlanDocument::new(&report)),
    })?;
    Ok(interrupt::unless_cut_short(report.outcome()))
}
