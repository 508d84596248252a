"""Widgets that several screens use.

`virtual_list.VirtualList` draws long lists, `frame_picture.FramePicture` pictures, `input_form` fields and
forms.
"""
