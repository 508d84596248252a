"""Names that only look unused, by who uses them. Run: vulture onsite .ci/not_dead.py --min-confidence 60"""

# ruff: noqa: B018, F821
# fmt: off

# Textual calls a widget's own `action_…` for the keys of its BINDINGS.
(_.action_accept, _.action_agree, _.action_all, _.action_automatic, _.action_back,
 _.action_capitals, _.action_card, _.action_choose, _.action_clear, _.action_clock, _.action_close,
 _.action_code, _.action_confirm, _.action_correct, _.action_enter, _.action_first, _.action_frame,
 _.action_go_back, _.action_history, _.action_join, _.action_keep, _.action_last, _.action_lists,
 _.action_load, _.action_missing, _.action_next, _.action_notes, _.action_open, _.action_person,
 _.action_picture, _.action_previous, _.action_put_away, _.action_queue, _.action_remind, _.action_row,
 _.action_search, _.action_sheet, _.action_slate, _.action_split, _.action_stop, _.action_take,
 _.action_take_back, _.action_totals, _.action_turn, _.action_undo, _.action_up, _.action_walk_in,
 _.action_watch, _.action_withdraw, _.on_screen_suspend)

# Textual calls these by the name of the message or the event.
(_.on_blur, _.on_click, _.on_descendant_focus, _.on_directory_tree_file_selected, _.on_focus,
 _.on_input_changed, _.on_input_submitted, _.on_key, _.on_mount, _.on_resize, _.on_screen_resume,
 _.on_status_changed, _.on_suggestion_lines_accepted, _.on_unmount, _.on_virtual_list_highlighted,
 _.on_virtual_list_selected, _.on_watch_changed)

# Textual reads these of a class: its styles, keys and sizes.
(_.BINDINGS, _.COMMANDS, _.COMPONENT_CLASSES, _.CSS, _.CSS_PATH, _.DEFAULT_CSS,
 _.ENABLE_COMMAND_PALETTE, _.HORIZONTAL_BREAKPOINTS, _.ICON_FILE, _.ICON_NODE,
 _.ICON_NODE_EXPANDED, _.SCOPED_CSS, _.VERTICAL_BREAKPOINTS, _.border_title, _.can_focus,
 _.grid_size_columns, _.grid_size_rows, _.virtual_size)

# Textual calls these of a widget, a message or the app; `container` and `viewport` are parameters there.
(_.check_action, _.compose, _.container, _.control, _.cursor_position, _.discover,
 _.get_content_height, _.get_suggestion, _.palette_entries, _.parameters, _.render_line,
 _.select_on_focus, _.viewport, _.watch_cursor)

# mypy: the app has all that a ScreenHost has.
_._as_host

# SQLAlchemy: a type of column.
(_.cache_ok, _.impl, _.process_bind_param, _.process_result_value)

# Attributes of foreign objects: sqlite3, zipfile, openpyxl, Pillow, fpdf2, NumPy, Typer.
(_.MAX_IMAGE_PIXELS, _.c_margin, _.data_type, _.display_type_rich, _.epilog, _.expose_value,
 _.file_size, _.freeze_panes, _.get_usage_pieces, _.isolation_level, _.writeable)

# The report: its template, and the columns of `PersonRow`, which are its fields.
(_.bill, _.chart, _.may_be_published, _.not_published_because, _.unpriced, _.waited_minutes)

# `roster.load_roster` copies the fields of an entry to a person by name.
_.phone

# A key of an answer between two processes.
_.locked

# `frames.ingest` matches it by its place.
_.is_transient

# A key of `roster.list_workbook`'s answer.
_.damaged

# `tests/bench/bench_known.py` draws a slate with it.
_.signs

# `tests` and `tests/bench` simulate days, draw them and hold names against the truth.
(_.ALONE, _.REAL_SET, _.TOGETHER, _.among, _.draw_day, _.needlessly_loose, _.shoot_of, _.simulate,
 _.swapped_doubted, _.wrong_frames)

# `tests/tui/test_key_grammar.py` holds every mode against it.
_.GRAMMAR

# textual-serve calls and reads these of `browser.screens_server`.
(_._open_app_process, _._stdin)
