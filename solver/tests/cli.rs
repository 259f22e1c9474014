//! The program as its users run it: exit codes, streams, files, formats.

use crate::program::{Ran, layout, program, run, run_in, run_with_stdin};
use serde_json::Value;
use std::{fs, path::Path, process::Stdio};

#[test]
fn a_layout_that_fits_is_checked_and_bridged() {
    let checked = run(&["check", "fits.ron"]).ends_with_code(0).says_nothing_on_stderr();
    checked.says("filter misses the lid by 4.8 mm").says("Touching:\n  filter and base").says("Everything fits");
    let bridged = run(&["bridge", "fits.ron"]).ends_with_code(0).says_nothing_on_stderr();
    bridged.says("filter.outlet to meter.inlet").says("Proven best").says("Leak-test");
    run(&["bridge", "fits.ron", "filter.outlet", "meter.inlet"]).ends_with_code(0).says("1 gap");
}

#[test]
fn a_layout_that_does_not_fit_says_how_deep_and_where_to() {
    let checked = run(&["check", "misfits.ron"]).ends_with_code(1).says_nothing_on_stderr();
    let checked = checked.says("pump reaches 2.1 mm into the lid").says("Does not fit: 2 pairs of bodies overlap.");
    let row = |first: &str, second: &str| {
        let rows = checked.out.lines().map(|line| line.split_whitespace().collect::<Vec<_>>());
        let row = rows.into_iter().find(|row| row.starts_with(&[first, second])).unwrap_or_default();
        row.get(2..).unwrap_or_default().join(" ")
    };
    // Worked out by hand from the boxes. The lid is 300 x 200 mm, so the pump leaves it along x after
    // 150 + 20 - 38.5 mm and along y after 100 + 20 - 3 mm; it reaches 48 + 4.1 - 50 mm into it.
    assert_eq!(row("pump", "lid"), "2.10 +131.5 +117.0 -2.1 1");
    // Two boxes 40 mm wide, 38.5 mm apart along x and 3 mm along y; the tank is 40 mm high, the pump starts at 4.1.
    assert_eq!(row("tank", "pump"), "1.50 -1.5 -37.0 -35.9 1");
    assert_eq!(row("pump", "filter"), "0.80");
}

#[test]
fn a_gap_that_nothing_bridges_is_proven_so() {
    let ran = run(&["bridge", "--max-parts", "2", "misfits.ron"]).ends_with_code(1).says_nothing_on_stderr();
    ran.says("Nothing bridges this gap: proven up to 2 parts.");
}

#[test]
fn bad_input_is_explained_on_standard_error() {
    let broken = run(&["check", "broken.ron"]).ends_with_code(2);
    broken.complains("broken.ron:6:").complains("did you mean `pump-round`?").complains("broken.ron:7:");
    run(&["check", "no-such-file.ron"]).ends_with_code(2).complains("no-such-file.ron");
    run(&["check"]).ends_with_code(2).complains("LAYOUT");
    run(&["chek", "fits.ron"]).ends_with_code(2).complains("check");
    run(&["bridge", "fits.ron", "filter.outlet"]).ends_with_code(2).complains("TO");
    let misspelt = run(&["bridge", "fits.ron", "filter.outlet", "mter.inlet"]).ends_with_code(2);
    misspelt.complains("did you mean `meter.inlet`?");
    run(&["bridge", "fits.ron", "filter.outlet", "filter.outlet"]).ends_with_code(2).complains("two different ports");
    run(&["check", "-", "--catalog", "-"]).ends_with_code(2).complains("only once");
    run(&["catalog", "no such part"]).ends_with_code(2).complains("no part of the catalog answers to");
}

#[test]
fn numbers_out_of_range_are_refused_with_the_range() {
    for (option, value, range) in [
        ("--clearance", "-1", "0 to 100, in mm"),
        ("--clearance", "nan", "0 to 100, in mm"),
        ("--flow", "0", "0.01 to 1000, in L/min"),
        ("--flow", "inf", "0.01 to 1000, in L/min"),
        ("--max-parts", "0", "from 1 to"),
        ("--max-parts", "999", "from 1 to"),
        ("--want", "0", "0 is not in 1.."),
        ("--threads", "0", "0 is not in 1.."),
        ("--budget", "0", "expected a whole number of at least 1"),
        ("--budget", "-3", "expected a whole number of at least 1"),
        ("--max-parts", "-1", "from 1 to"),
        ("--want", "-1", "-1 is not in 1.."),
    ] {
        run(&["bridge", option, value, "fits.ron"]).ends_with_code(2).complains(range);
    }
}

#[test]
fn a_layout_without_gaps_says_what_to_do() {
    let text = "(version: 1, name: \"Empty\")";
    run_with_stdin(&["bridge", "-"], text).ends_with_code(2).complains("standard input lists no gaps");
    run_with_stdin(&["check", "-"], text).ends_with_code(0).says("Empty: 0 components, 0 panels");
}

#[test]
fn standard_input_takes_ron_and_json() {
    let ron = fs::read_to_string(layout("fits.ron")).unwrap();
    let from_ron = run_with_stdin(&["check", "-"], &ron).ends_with_code(0);
    assert_eq!(from_ron.out, run(&["check", "fits.ron"]).out);
    let json = r#"{"version": 1, "name": "From JSON", "components": [
        {"name": "pump", "template": "pump-round", "at": [0, 0, 0]},
        {"name": "filter", "template": "filter", "at": [300, 0, 0]}
    ]}"#;
    run_with_stdin(&["check", "-"], json).ends_with_code(0).says("From JSON: 2 components");
}

#[test]
fn a_catalog_of_ones_own_is_added() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own.ron");
    let part = r#"(id: "my-cube", name: "Cube", solids: [(shape: box(size: (10, 10, 10)))])"#;
    fs::write(&own, format!("(version: 1, components: [{part}])")).unwrap();
    let own = own.to_str().unwrap();
    run(&["catalog", "my-cube"]).ends_with_code(2).complains("my-cube");
    run(&["catalog", "my-cube", "--catalog", own]).ends_with_code(0).says("box of 10 x 10 x 10 mm");
    run(&["catalog", "--catalog", own, "--catalog", own]).ends_with_code(2).complains("my-cube");

    // A catalog in the place of a layout, and the reverse, is told as such and not field by field.
    let parts = folder.path().join("parts.ron");
    fs::write(&parts, "(version: 1, note: \"parts\", fittings: [], components: [])").unwrap();
    let swapped = run(&["check", parts.to_str().unwrap()]).ends_with_code(2);
    swapped.complains("expected a layout, found a catalog").complains("give a catalog with `--catalog FILE`");
    let fits = layout("fits.ron");
    let swapped = run(&["catalog", "--catalog", fits.to_str().unwrap()]).ends_with_code(2);
    let swapped = swapped.complains("expected a catalog, found a layout").complains("behind the command");
    assert_eq!(swapped.err.matches("error:").count(), 1, "{}", swapped.err);
}

#[test]
fn what_chains_absorb_is_told() {
    let gap = ["bridge", "fits.ron", "filter.outlet", "meter.inlet", "--want", "2"];
    let bridge = |more: &[&str]| run(&[&gap[..], more].concat());
    let text = bridge(&["--slack"]).ends_with_code(0);
    let text = text.says("Slack: how many builds in 100 close").says("1000 builds tried, seed 1");
    let text =
        text.says("Chains 1 and 2: meter.inlet must be within 0.30 mm along").says("Adding up: how far off the end is");
    assert!(text.out.lines().all(|line| line.chars().count() <= 100), "{}", text.out);
    let json = bridge(&["--slack", "--hole-mm", "0.1", "--hole-deg", "0", "--format", "json"]).ends_with_code(0).json();
    for chain in json["gaps"][0]["chains"].as_array().unwrap() {
        let slack = &chain["slack"];
        assert_eq!((&slack["position_mm"], &slack["angle_deg"]), (&Value::from(0.1), &Value::from(0.0)));
        assert_eq!((&slack["samples"], &slack["seed"]), (&Value::from(1000), &Value::from(1)));
        // A link takes up the errors along its axis. Those across it, of both ports together, have a deviation of
        // 0.05 mm times the root of two along each of two axes, and 0.3 mm is more than four of these.
        let share = slack["builds"]["share"].as_f64().unwrap();
        let (low, high) = (slack["builds"]["low"].as_f64().unwrap(), slack["builds"]["high"].as_f64().unwrap());
        assert!(share > 0.99 && low <= share && share <= high && low < high, "{slack}");
        let worst = slack["stack_up"]["worst_mm"].as_f64().unwrap();
        // Twice the tolerance along each of the two.
        assert!((worst - 0.2 * 2_f64.sqrt()).abs() < 1e-3 && slack["stack_up"]["worst_closes"] == true, "{slack}");
        assert_eq!(slack["directions"].as_array().unwrap().len(), 3);
    }
    let without = bridge(&["--format", "json"]).json();
    assert!(without["gaps"][0]["chains"][0]["slack"].is_null());
    bridge(&["--hole-mm", "0.3"]).ends_with_code(2).complains("--slack");
    bridge(&["--slack", "--hole-mm", "11"]).ends_with_code(2).complains("0 to 10, in mm");
}

#[test]
fn the_order_of_work_of_a_chain_is_written() {
    let gap = ["bridge", "fits.ron", "filter.outlet", "meter.inlet"];
    let bridge = |more: &[&str]| run(&[&gap[..], more].concat());
    let listed = bridge(&[]).ends_with_code(0);
    let listed = listed.says("1: made up when `meter` is offered up along -x: the 11.0 mm it must travel are clear");
    listed.says("Of the 10 found, 6 cannot be made up; `--all` shows what stops them.");
    let all = bridge(&["--all"]).ends_with_code(0);
    all.says("5: cannot be made up: at meter.inlet, no swivel").says("Of the 10 found, the last 6 cannot be made up.");

    let steps = bridge(&["--steps", "1"]).ends_with_code(0).says_nothing_on_stderr();
    let steps = steps.says("Made up when `meter` is offered up along -x").says("Leak-test");
    // The port's thread is 8 mm deep and the link's 4.5 mm long; G 1/4 advances 1.337 mm a turn (ISO 228-1).
    let steps = steps.says("  1: Hold `meter` 11.0 mm back along +x").says("3.4 turns of G 1/4 (4.5 mm)");
    steps.says("Close the last joint, at meter.inlet: turn the swivel collar of part 1 and nothing else,");
    bridge(&["--steps", "5"]).ends_with_code(2).complains("there are 4 chains").complains("`--all` lists more");
    bridge(&["--steps", "5", "--all"]).ends_with_code(3).says("Cannot be made up: at meter.inlet");
    bridge(&["--steps", "1", "--apply", "1"]).ends_with_code(2).complains("cannot be used with");
    run(&["bridge", "--max-parts", "2", "misfits.ron", "--steps", "1"]).ends_with_code(2).complains("no chain bridges");
    run(&["bridge", "--max-parts", "1", "fits.ron", "--tool-arc", "181"]).ends_with_code(2).complains("5 to 180");

    let json = bridge(&["--steps", "1", "--format", "json"]).ends_with_code(0).json();
    assert_eq!(json["format"], "elbowroom.steps");
    assert_eq!(json["make_up"]["verdict"]["component"], "meter");
    let kinds: Vec<_> = json["make_up"]["steps"].as_array().unwrap().iter().map(|step| &step["work"]["kind"]).collect();
    assert_eq!(
        kinds,
        ["hold_back", "attach", "close"].map(Value::from).iter().chain([&Value::Null]).collect::<Vec<_>>()
    );
    let report = bridge(&["--format", "json"]).ends_with_code(0).json();
    assert_eq!(report["gaps"][0]["left_out"], 6);
    assert_eq!(report["gaps"][0]["chains"][0]["make_up"], json["make_up"]);
}

/// The first bend of the chain between two ports that look along -y, whose mark is +x: it is to point along +x and up, by
/// 28.95° (the other port is 47 mm to the side and 26 mm up).
#[test]
fn turns_are_drawn_as_they_stand_in_the_machine() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (layout, drawing) = (at("gauge.ron"), at("turns.svg"));
    let guide = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("guide/example.md")).unwrap();
    let text = guide.split("```ron\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    fs::write(&layout, text).unwrap();
    let gap = ["bridge", &layout, "pump.outlet", "cold-plate.inlet", "--want", "1", "--steps", "1", "--plot", &drawing];
    run(&gap).ends_with_code(0).says("its free end towards +x, 29° up");
    let svg = fs::read_to_string(&drawing).unwrap();
    run(&gap).ends_with_code(2).complains("--force");
    run(&["bridge", &layout, "--plot", &drawing]).ends_with_code(2).complains("--steps");
    let tags = |open: &str| svg.matches(open).count();
    assert_eq!((tags("<svg"), tags("<g "), tags("</g>")), (1, 2, 2), "two parts are aimed: {svg}");
    // Both are seen from the side of -y, with +x to the right and up at the top.
    let line = |class: &str, which: usize| {
        let path = svg.split(&format!("class=\"{class}\" d=\"M")).nth(which + 1).unwrap().split('"').next().unwrap();
        let numbers = path.split(['L', ' ']).map(|number| number.parse().unwrap()).collect::<Vec<f64>>();
        // Up is against y in a picture.
        let (right, up): (f64, f64) = (numbers[2] - numbers[0], numbers[1] - numbers[3]);
        up.atan2(right).to_degrees()
    };
    assert!(line("zero", 0).abs() < 0.5, "the mark of the port is +x: {}", line("zero", 0));
    assert!((line("aim", 0) - 28.95).abs() < 0.5, "{}", line("aim", 0));
    assert!(
        svg.contains(">0°<") && svg.contains(">up<") && svg.contains("11 o'clock from the mark of pump.outlet (+x)")
    );
}

/// A base below, a wall on either side and a bar above leave no hand's breadth around the collars.
#[test]
fn a_tool_that_finds_no_room_stops_the_making_up() {
    let walls: String = [22.0, -22.0]
        .iter()
        .map(|y| format!("(name: \"wall{y}\", solids: [(shape: box(size: (24, 4, 44)))], at: (-17.5, {y}, 22)),"))
        .chain(["(name: \"bar\", solids: [(shape: box(size: (24, 40, 4)))], at: (-17.5, 0, 42)),".to_owned()])
        .collect();
    let text =
        fs::read_to_string(layout("fits.ron")).unwrap().replace("components: [", &format!("components: [{walls}"));
    let ran = run_with_stdin(&["bridge", "-", "--max-parts", "1", "--tool-mm", "60"], &text).ends_with_code(3);
    ran.says("are 60.0 mm free").says("None of these can be made up");
    run_with_stdin(&["bridge", "-", "--max-parts", "1", "--tool-mm", "0"], &text).ends_with_code(0);
}

#[test]
fn an_output_file_is_never_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("result.txt");
    let name = path.to_str().unwrap();
    let written = run(&["check", "fits.ron", "-o", name]).ends_with_code(0);
    assert!(written.out.is_empty(), "{written:?}");
    let first = fs::read_to_string(&path).unwrap();
    assert_eq!(first, run(&["check", "fits.ron"]).out);

    run(&["check", "misfits.ron", "-o", name]).ends_with_code(2).complains("--force");
    assert_eq!(fs::read_to_string(&path).unwrap(), first);
    run(&["check", "misfits.ron", "-o", name, "--force"]).ends_with_code(1);
    let second = fs::read_to_string(&path).unwrap();
    assert_eq!(second, run(&["check", "misfits.ron"]).out);

    // Bad input leaves the file as it was, and nothing beside it.
    run(&["check", "broken.ron", "-o", name, "--force"]).ends_with_code(2).complains("pump-rund");
    assert_eq!(fs::read_to_string(&path).unwrap(), second);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);

    run(&["check", "fits.ron", "-o", folder.path().to_str().unwrap()]).ends_with_code(2).complains("it is a folder");
    run(&["check", "fits.ron", "-o", "/no/such/folder/result"]).ends_with_code(2).complains("/no/such/folder/result");
    run(&["check", "fits.ron", "--force"]).ends_with_code(2).complains("--output");
}

/// An output that is an input of the same run, by whatever name, and one file for two outputs.
#[test]
fn no_run_replaces_what_it_reads_or_writes_twice() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (own, catalog, drawing) = (at("own.ron"), at("parts.ron"), at("drawing.svg"));
    let text = fs::read_to_string(layout("fits.ron")).unwrap();
    fs::write(&own, &text).unwrap();
    fs::write(&catalog, "(version: 1)").unwrap();
    fs::create_dir(folder.path().join("sub")).unwrap();
    let round_about = at("sub/../own.ron");
    for arguments in [
        vec!["check", &own, "-o", &own, "--force"],
        vec!["check", &own, "-o", &round_about, "--force"],
        vec!["check", &own, "--catalog", &catalog, "-o", &catalog, "--force"],
        vec!["bridge", &own, "-o", &own, "--force"],
        vec!["flow", &own, "--plot", &own, "--force"],
        vec!["flow", &drawing, "--compare", &own, "-o", &own, "--force"],
    ] {
        run(&arguments).ends_with_code(2).complains("which this run reads").complains("name another file");
    }
    run(&["flow", &own, "--plot", &drawing, "-o", &drawing, "--force"]).ends_with_code(2).complains("name two files");
    assert_eq!(fs::read_to_string(&own).unwrap(), text);
    assert_eq!(fs::read_to_string(&catalog).unwrap(), "(version: 1)");
    assert!(!Path::new(&drawing).exists());
    #[cfg(unix)]
    {
        let (link, hard) = (at("link.ron"), at("hard.ron"));
        std::os::unix::fs::symlink(&own, &link).unwrap();
        fs::hard_link(&own, &hard).unwrap();
        for other in [&link, &hard] {
            run(&["check", &own, "-o", other, "--force"]).ends_with_code(2).complains("which this run reads");
            run(&["check", other, "-o", &own, "--force"]).ends_with_code(2).complains("which this run reads");
        }
        assert_eq!(fs::read_to_string(&own).unwrap(), text);
    }
}

#[cfg(unix)]
#[test]
fn a_link_is_followed_and_a_device_is_written_to() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let (target, link) = (folder.path().join("target"), folder.path().join("link"));
    fs::write(&target, "old").unwrap();
    fs::set_permissions(&target, fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink(&target, &link).unwrap();
    run(&["check", "fits.ron", "-o", link.to_str().unwrap(), "--force"]).ends_with_code(0);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::read_to_string(&target).unwrap().contains("Everything fits"));
    assert_eq!(fs::metadata(&target).unwrap().permissions().mode() & 0o777, 0o640);
    run(&["check", "fits.ron", "-o", "/dev/null"]).ends_with_code(0).says_nothing_on_stderr();
}

#[test]
fn json_follows_its_schema() {
    for (schema, code, arguments) in [
        ("check", 0, &["check", "fits.ron"][..]),
        ("check", 1, &["check", "misfits.ron"]),
        ("bridge", 0, &["bridge", "fits.ron"]),
        ("bridge", 1, &["bridge", "--max-parts", "2", "misfits.ron"]),
        ("bridge", 3, &["bridge", "--budget", "1", "misfits.ron"]),
        ("catalog", 0, &["catalog"]),
        ("catalog", 0, &["catalog", "pump-round"]),
    ] {
        let ran = run(&[arguments, &["--format", "json"]].concat()).ends_with_code(code).says_nothing_on_stderr();
        let document = ran.json();
        assert_eq!(document["format"], format!("elbowroom.{schema}"));
        assert_eq!(document["version"], 1);
        assert_valid(schema, &document);
        assert!(ran.out.ends_with("}\n"));
    }
}

#[test]
fn json_holds_what_the_text_says() {
    let check = run(&["check", "--format", "json", "misfits.ron"]).json();
    let meeting = &check["meetings"][0];
    assert_eq!((&meeting["a"], &meeting["b"]), (&Value::from("pump"), &Value::from("lid")));
    assert_eq!(meeting["worst"]["separation"]["mm"], -2.1);
    assert_eq!(meeting["moves"].as_array().unwrap().len(), 6);

    let bridge = run(&["bridge", "--format", "json", "fits.ron"]).json();
    assert_eq!(bridge["outcome"], "fits");
    let gap = &bridge["gaps"][0];
    assert_eq!(gap["distance_mm"], 25.0);
    assert_eq!(gap["axes_deg"], 180.0);
    let chains = gap["chains"].as_array().unwrap();
    assert!(!chains.is_empty());
    for (index, chain) in chains.iter().enumerate() {
        assert_eq!(chain["rank"], index + 1);
        // Whatever its parts, a chain that closes ends on the second port, heading into it.
        let last = chain["parts"].as_array().unwrap().last().unwrap();
        let near = |a: &Value, b: f64| (a.as_f64().unwrap() - b).abs() < 0.3;
        assert!(near(&last["ends_at"][0], -5.0) && near(&last["ends_at"][2], 20.0), "{last}");
        assert!(near(&last["heads"][0], 1.0), "{last}");
    }
}

#[test]
fn the_answer_does_not_depend_on_the_number_of_threads() {
    let one = run(&["bridge", "--threads", "1", "--format", "json", "fits.ron"]).ends_with_code(0);
    let two = run(&["bridge", "--threads", "2", "--format", "json", "fits.ron"]).ends_with_code(0);
    assert_eq!(one.out, two.out);
}

#[test]
fn quiet_leaves_results_and_errors() {
    let quiet = run(&["bridge", "--quiet", "fits.ron"]).ends_with_code(0).says("Proven best");
    assert!(!quiet.out.contains("Leak-test"), "{quiet:?}");
    run(&["check", "--quiet", "broken.ron"]).ends_with_code(2).complains("pump-rund");
}

#[test]
fn no_output_is_coloured_into_a_pipe() {
    let mut command = program();
    command.env("NO_COLOR", "1");
    for ran in [
        run(&["check", "broken.ron"]),
        run_in(command, &["check", "broken.ron"]),
        run(&["--help"]),
        run(&["bridge", "fits.ron"]),
    ] {
        assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "{ran:?}");
    }
}

#[test]
fn reports_keep_to_a_hundred_columns() {
    for arguments in [
        &["check", "misfits.ron"][..],
        &["bridge", "fits.ron"],
        &["bridge", "--max-parts", "2", "misfits.ron"],
        &["catalog"],
        &["catalog", "pump-round"],
        &["--help"],
        &["bridge", "--help"],
    ] {
        for line in run(arguments).out.lines() {
            assert!(line.chars().count() <= 100, "{arguments:?}: {line}");
            // Help is clap's, which leaves blanks between options.
            let blanks = line.ends_with(' ') && !arguments.contains(&"--help");
            assert!(!blanks, "{arguments:?} ends a line in blanks: {line}");
        }
    }
}

#[test]
fn the_catalog_is_listed_filtered_and_shown() {
    let all = run(&["catalog"]).ends_with_code(0).says_nothing_on_stderr();
    let lines = |ran: &Ran| ran.out.lines().count();
    let bends = run(&["catalog", "bend"]).ends_with_code(0);
    let small = run(&["catalog", "bend", "g1/8"]).ends_with_code(0).says("G 1/8");
    assert!(lines(&small) < lines(&bends) && lines(&bends) < lines(&all));
    assert!(!small.out.contains("G 1/4"), "{small:?}");
    run(&["catalog", "extension-g14-20"]).ends_with_code(0).says("centreline").says("G 1/4 female");
    run(&["catalog", "pump-round"]).ends_with_code(0).says("port inlet").says("port outlet");
    run(&["catalog", "bend-90-g14-compct"]).ends_with_code(2).complains("did you mean `bend-90-g14-compact`?");
    run(&["catalog", "pump-rund"]).ends_with_code(2).complains("did you mean `pump-round`?");
}

#[test]
fn a_part_is_shown_with_all_that_its_file_says_of_it() {
    let pump = run(&["catalog", "pump-compact"]).ends_with_code(0).says("flow         inlet to outlet");
    let pump = pump.says("pump         gains 24 kPa at 0 L/min, 22 kPa at 2 L/min").says("measured at full speed");
    pump.says("bore         8 mm at its narrowest").says("wall         plastic");
    let meter = run(&["catalog", "flow-meter"]).ends_with_code(0);
    meter.says("loss         1.6 kPa at 4 L/min, growing with the flow to the power of 2");
    let radiator = run(&["catalog", "radiator-140-1"]).ends_with_code(0);
    radiator.says("inlet to outlet, inlet-end to outlet,").says("0.5 kPa at 2 L/min, 1.5 kPa").says("each way");
    run(&["catalog", "reservoir-box"]).ends_with_code(0).says("a vessel with a free surface");
    // Nothing flows through a plug.
    let plug = run(&["catalog", "plug-g14"]).ends_with_code(0).says("G 1/4 male");
    assert!(!plug.out.contains("bore"), "{plug:#?}");
    run(&["catalog", "plug"]).ends_with_code(0).says("4                          -   1.60");
}

#[test]
fn what_has_no_json_form_refuses_to_be_asked_for_it() {
    for (arguments, what) in [
        (&["demo"][..], "`demo` writes a layout file"),
        (&["completions", "bash"], "`completions` writes a script"),
        (&["manual"], "`manual` writes a page"),
        (&["bridge", "fits.ron", "--apply", "1"], "`bridge --apply` writes the layout"),
    ] {
        let ran = run(&[arguments, &["--format", "json"]].concat()).ends_with_code(2);
        ran.complains(what).complains("has no JSON form; leave out `--format json`");
    }
    run(&["demo", "--format", "text"]).ends_with_code(0);
}

#[test]
fn the_help_of_a_command_sets_its_own_options_apart() {
    let help = run(&["bridge", "--help"]).ends_with_code(0);
    let (own, all) = help.out.split_once("Options of all commands:").expect("a heading");
    for option in ["--max-parts", "--apply", "--slack", "--tool-mm"] {
        assert!(own.contains(option) && !all.contains(option), "{option}");
    }
    for option in ["--format", "--catalog", "--output", "--force", "--quiet"] {
        assert!(all.contains(option) && !own.contains(option), "{option}");
    }
}

#[test]
fn without_a_command_the_demo_is_checked_and_bridged() {
    let demo = run(&[]).ends_with_code(0).says("Everything fits").says("none up to 4").says("Leak-test");
    assert!(demo.err.contains("elbowroom demo -o"), "{demo:#?}");
    let quiet = run(&["--quiet"]).ends_with_code(0).says("none up to 4").says_nothing_on_stderr();
    assert!(!quiet.out.contains("Leak-test"), "{quiet:#?}");
    assert_valid("demo", &run(&["--format", "json", "--quiet"]).ends_with_code(0).json());
}

#[test]
fn the_demo_can_be_written_and_checked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("boat.ron");
    let name = path.to_str().unwrap();
    run(&["demo", "-o", name]).ends_with_code(0).says_nothing_on_stderr();
    run(&["check", name]).ends_with_code(0).says("Everything fits");
}

#[test]
fn completions_manual_and_help_name_every_command_and_exit_code() {
    let manual = run(&["manual"]).ends_with_code(0);
    let help = run(&["--help"]).ends_with_code(0);
    for command in ["check", "bridge", "catalog", "demo", "completions", "manual"] {
        assert!(help.out.contains(command) && manual.out.contains(command), "{command}");
    }
    for code in ["   0  every", "   1  ", "   2  bad", "   3  no proof", "  70  internal", " 130  ended"] {
        assert!(help.out.contains(code), "{code} in {help:?}");
    }
    assert!(manual.out.contains(".TH elbowroom 1"), "{manual:?}");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        run(&["completions", shell]).ends_with_code(0).says_nothing_on_stderr().says("max-parts");
    }
    run(&["--version"]).ends_with_code(0).says(env!("CARGO_PKG_VERSION"));
}

#[cfg(unix)]
#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let mut command = program();
    command.args(["catalog", "--format", "json"]).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // Closing the pipe at once: the program finds nobody at the other end.
    drop(child.stdout.take());
    let ran = Ran::new(&child.wait_with_output().unwrap(), &["catalog"]);
    ran.ends_with_code(0).says_nothing_on_stderr();
}

#[track_caller]
fn assert_valid(schema: &str, document: &Value) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("schema/{schema}.schema.json"));
    let schema: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let errors: Vec<_> = validator.iter_errors(document).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
}
